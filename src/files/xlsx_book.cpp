#include "files/xlsx_book.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/number.hpp"
#include "base/text.hpp"
#include "files/xlsx_xml.hpp"

namespace leafwright {
namespace {

/// Part names are relative to the folder of the part that names them, or begin with '/'.
std::string part_name(const std::string& folder, std::string_view target) {
  if (target.starts_with('/')) return std::string(target.substr(1));
  std::string at = folder;
  while (target.starts_with("../")) {
    target.remove_prefix(3);
    const auto cut = at.empty() ? std::string::npos : at.find_last_of('/', at.size() - 2);
    at = cut == std::string::npos ? "" : at.substr(0, cut + 1);
  }
  if (target.starts_with("./")) target.remove_prefix(2);
  return at + std::string(target);
}

std::string folder_of(const std::string& part) {
  const auto slash = part.find_last_of('/');
  return slash == std::string::npos ? "" : part.substr(0, slash + 1);
}

struct Relation {
  std::string type, target;
};

struct RelationsHandler : XmlHandler {
  std::map<std::string, Relation> by_id;
  void begin(std::string_view name, const XmlAttributes& a) override {
    if (name != "Relationship") return;
    by_id[std::string(a.get("Id"))] = {std::string(a.get("Type")), std::string(a.get("Target"))};
  }
};

struct WorkbookHandler : XmlHandler {
  struct Entry {
    std::string name, id;
    bool hidden;
  };
  std::vector<Entry> sheets;
  bool from_1904 = false;
  void begin(std::string_view name, const XmlAttributes& a) override {
    if (name == "workbookPr") {
      from_1904 = a.get("date1904") == "1" || a.get("date1904") == "true";
    } else if (name == "sheet") {
      const auto state = a.get("state");
      // "sheetId" is another attribute; the relation's is "r:id".
      sheets.push_back({std::string(a.get("name")), std::string(a.get("id")),
                        state == "hidden" || state == "veryHidden"});
    }
  }
};

struct TextsHandler : XmlHandler {
  SharedTexts& texts;
  std::string now;
  bool in_text = false, phonetic = false;
  explicit TextsHandler(SharedTexts& to) : texts(to) {}
  void begin(std::string_view name, const XmlAttributes&) override {
    if (name == "si") now.clear();
    if (name == "rPh") phonetic = true;
    if (name == "t") in_text = !phonetic;
  }
  void end(std::string_view name) override {
    if (name == "si") texts.add(plain_cell(now));
    if (name == "rPh") phonetic = false;
    if (name == "t") in_text = false;
  }
  void text(std::string_view bytes) override {
    if (in_text) now += bytes;
  }
};

struct StylesHandler : XmlHandler {
  std::vector<DateFormat>& formats;
  std::map<int, DateFormat> own;
  bool in_cells = false;
  explicit StylesHandler(std::vector<DateFormat>& to) : formats(to) {}
  static int number(std::string_view text) {
    const auto value = parse_number(text);
    return value && *value >= 0 && *value < 1e6 ? static_cast<int>(*value) : 0;
  }
  void begin(std::string_view name, const XmlAttributes& a) override {
    if (name == "numFmt") own[number(a.get("numFmtId"))] = date_format(a.get("formatCode"));
    if (name == "cellXfs") in_cells = true;
    if (name == "xf" && in_cells) {
      const int id = number(a.get("numFmtId"));
      const auto found = own.find(id);
      formats.push_back(found != own.end() ? found->second : built_in_format(id));
    }
  }
  void end(std::string_view name) override {
    if (name == "cellXfs") in_cells = false;
  }
};

tl::unexpected<Error> no_workbook(const ZipArchive& archive) {
  const bool open_document = archive.has("content.xml") && archive.has("mimetype");
  return fail(ErrorCode::unreadable,
              open_document ? "this is an OpenDocument file" : "this zip archive holds no workbook",
              "a .xlsx file", open_document ? "save it as .xlsx or CSV" : "");
}

Result<std::string> workbook_part(ZipArchive& archive) {
  if (archive.has("_rels/.rels")) {
    RelationsHandler relations;
    if (auto ok = read_xml(archive, "_rels/.rels", relations); !ok) return fail(ok.error());
    for (const auto& [id, relation] : relations.by_id) {
      if (!relation.type.ends_with("/officeDocument")) continue;
      const std::string part = part_name("", relation.target);
      if (archive.has(part) && part.ends_with(".xml")) return part;
    }
  }
  if (archive.has("xl/workbook.xml")) return std::string("xl/workbook.xml");
  return no_workbook(archive);
}

/// How many characters at the front of a format code stand for themselves, or are a condition, a
/// colour or the halves of the day. "[h]" counts hours beyond 24.
std::size_t not_a_letter_code(std::string_view code, DateFormat& format) {
  const auto up_to = [&](char mark) { return std::min(code.find(mark, 1), code.size() - 1) + 1; };
  switch (code.front()) {
    case '"':
      return up_to('"');
    case '\\':
    case '_':
    case '*':
      return 2;
    case '[': {
      const std::string inside = lower_case(code.substr(1, up_to(']') - 2));
      const bool one_letter =
          !inside.empty() && inside.find_first_not_of(inside.front()) == std::string::npos;
      if (one_letter && std::string_view("hms").find(inside.front()) != std::string_view::npos) {
        format.time = format.elapsed = true;
      }
      return up_to(']');
    }
    default:
      if (same_letters(code.substr(0, 5), "AM/PM")) return 5;
      return same_letters(code.substr(0, 3), "A/P") ? 3 : 0;
  }
}

}  // namespace

void SharedTexts::add(std::string_view text) {
  pool_ += text;
  ends_.push_back(pool_.size());
}

std::string_view SharedTexts::at(std::size_t i) const {
  const std::size_t begin = i == 0 ? 0 : ends_[i - 1];
  return std::string_view(pool_).substr(begin, ends_[i] - begin);
}

Result<Book> read_book(ZipArchive& archive) {
  const auto part = workbook_part(archive);
  if (!part) return fail(part.error());
  WorkbookHandler workbook;
  if (auto ok = read_xml(archive, *part, workbook); !ok) return fail(ok.error());
  const std::string folder = folder_of(*part);
  RelationsHandler relations;
  const std::string relations_part = folder + "_rels/" + part->substr(folder.size()) + ".rels";
  if (auto ok = read_xml(archive, relations_part, relations); !ok) return fail(ok.error());
  Book book;
  book.from_1904 = workbook.from_1904;
  for (const auto& entry : workbook.sheets) {
    const auto found = relations.by_id.find(entry.id);
    if (found == relations.by_id.end()) continue;
    if (!found->second.type.ends_with("/worksheet")) continue;  // a sheet that is one chart
    book.sheets.push_back({entry.name, entry.hidden, part_name(folder, found->second.target)});
  }
  for (const auto& [id, relation] : relations.by_id) {
    const std::string target = part_name(folder, relation.target);
    Result<void> ok;
    if (relation.type.ends_with("/sharedStrings")) {
      TextsHandler texts(book.texts);
      ok = read_xml(archive, target, texts);
    } else if (relation.type.ends_with("/styles")) {
      StylesHandler styles(book.formats);
      ok = read_xml(archive, target, styles);
    }
    if (!ok) return fail(ok.error());
  }
  return book;
}

DateFormat built_in_format(int number) {
  DateFormat format;
  format.date = (number >= 14 && number <= 17) || number == 22 || (number >= 27 && number <= 36) ||
                (number >= 50 && number <= 58);
  format.time = (number >= 18 && number <= 22) || (number >= 45 && number <= 47);
  format.elapsed = number == 46;
  return format;
}

DateFormat date_format(std::string_view code) {
  DateFormat format;
  if (same_letters(code, "General")) return format;
  bool month_or_minute = false;
  for (std::size_t i = 0; i < code.size() && code[i] != ';'; ++i) {
    const std::size_t skipped = not_a_letter_code(code.substr(i), format);
    if (skipped > 0) {
      i += skipped - 1;
      continue;
    }
    const char c = lower_case(code.substr(i, 1)).front();
    format.date = format.date || c == 'y' || c == 'd';
    format.time = format.time || c == 'h' || c == 's';
    month_or_minute = month_or_minute || c == 'm';
  }
  if (month_or_minute && !format.time) format.date = true;
  return format;
}

std::string date_text(double serial, DateFormat format, bool from_1904) {
  constexpr double last = 2958466, ms_a_day = 86400000;
  if (!(serial >= 0) || serial >= last) return "";
  double ms = std::round(serial * ms_a_day);
  double day = std::floor(ms / ms_a_day);
  ms -= day * ms_a_day;
  std::string date, time;
  const auto clock = [](double total) {
    const auto whole = static_cast<long long>(total);
    std::string text =
        fmt::format("{:02}:{:02}:{:02}", whole / 3600000, whole / 60000 % 60, whole / 1000 % 60);
    if (whole % 1000 == 0) return text;
    text += fmt::format(".{:03}", whole % 1000);
    while (text.back() == '0') text.pop_back();
    return text;
  };
  if (format.elapsed && !format.date) return clock(ms + day * ms_a_day);
  if (format.time && !format.date && day == 0) return clock(ms);
  if (from_1904) {
    day += 1462;
  } else if (day < 61) {
    // The 1900 system counts a 29 February 1900 that never was.
    if (day == 60) return "";
    day += 1;
  }
  // Days since 1899-12-30 to a date: Howard Hinnant's days-from-civil, the other way round.
  const auto z = static_cast<long>(day) - 25569 + 719468;
  const long era = z / 146097, doe = z % 146097;
  const long yoe = (doe - doe / 1460 + doe / 36524 - doe / 146096) / 365;
  const long doy = doe - (365 * yoe + yoe / 4 - yoe / 100), mp = (5 * doy + 2) / 153;
  const long d = doy - (153 * mp + 2) / 5 + 1, m = mp < 10 ? mp + 3 : mp - 9;
  date = fmt::format("{:04}-{:02}-{:02}", yoe + era * 400 + (m <= 2 ? 1 : 0), m, d);
  return format.time || ms > 0 ? date + " " + clock(ms) : date;
}

std::string plain_cell(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size(); ++i) {
    char c = text[i];
    // _xHHHH_ stands for a character that XML cannot hold.
    if (c == '_' && text.substr(i, 4) == "_x00" && i + 6 < text.size() && text[i + 6] == '_') {
      const std::string_view hex = text.substr(i + 4, 2);
      if (hex.find_first_not_of("0123456789abcdefABCDEF") == std::string_view::npos) {
        c = static_cast<char>(std::stoi(std::string(hex), nullptr, 16));
        if (static_cast<unsigned char>(c) >= 0x80) c = ' ';
        i += 6;
      }
    }
    out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  }
  return out;
}

}  // namespace leafwright
