#include "files/xlsx_sheet.hpp"

#include <algorithm>
#include <optional>

#include "base/number.hpp"
#include "base/text.hpp"
#include "table/table.hpp"

namespace leafwright {
namespace {

constexpr std::size_t most_rows = 1048576, most_columns = 16384;  // of the standard
constexpr std::size_t most_text = std::size_t{512} << 20U;

std::optional<std::size_t> whole(std::string_view digits) {
  std::size_t n = 0;
  if (digits.empty() || digits.size() > 9) return {};
  for (const char c : digits) {
    if (c < '0' || c > '9') return {};
    n = 10 * n + static_cast<std::size_t>(c - '0');
  }
  return n;
}

struct CellRef {
  std::size_t column = 0, row = 0;
};

std::optional<CellRef> cell_ref(std::string_view name) {
  CellRef out;
  std::size_t i = 0;
  for (; i < name.size() && name[i] >= 'A' && name[i] <= 'Z' && i < 4; ++i) {
    out.column = 26 * out.column + static_cast<std::size_t>(name[i] - 'A') + 1;
  }
  const auto row = whole(name.substr(i));
  if (i == 0 || !row || *row == 0 || *row > most_rows || out.column > most_columns) return {};
  out.row = *row;
  return out;
}

}  // namespace

std::string cell_name(std::size_t column, std::size_t row) {
  return column_letters(column) + std::to_string(row);
}

void SheetHandler::fail_here(std::string what) {
  if (!fault_.empty()) return;
  fault_ = std::move(what);
  fault_cell_ = column_ > 0 && row_ > 0 ? cell_name(column_, row_) : "";
}

void SheetHandler::begin(std::string_view name, const XmlAttributes& a) {
  if (!fault_.empty()) return;
  if (name == "c") {
    begin_cell(a);
  } else if (name == "v") {
    in_value_ = has_value_ = true;
  } else if (name == "f") {
    formula_ = in_cell_;
  } else if (name == "t") {
    in_text_ = in_cell_ && !phonetic_;
    has_value_ = has_value_ || in_text_;
  } else if (name == "rPh") {
    phonetic_ = true;
  } else if (name == "row") {
    begin_row(a);
  } else if (name == "mergeCell") {
    if (merged_.size() < most_rows) merged_.emplace_back(a.get("ref"));
  } else if (name == "col" && a.get("hidden") == "1") {
    const auto first = whole(a.get("min")), last = whole(a.get("max"));
    if (first && last && *last >= *first && *last <= most_columns) {
      hidden_columns_ += *last - *first + 1;
    }
  }
}

void SheetHandler::end(std::string_view name) {
  if (!fault_.empty()) return;
  if (name == "v") in_value_ = false;
  if (name == "t") in_text_ = false;
  if (name == "rPh") phonetic_ = false;
  if (name == "c") end_cell();
  if (name == "row") end_row();
}

void SheetHandler::text(std::string_view bytes) {
  if (in_value_ || in_text_) value_ += bytes;
}

void SheetHandler::begin_row(const XmlAttributes& a) {
  column_ = last_column_ = written_ = filled_ = 0;
  const auto number = a.has("r") ? whole(a.get("r")) : std::optional(row_ + 1);
  if (!number || *number <= row_ || *number > most_rows) {
    return fail_here("row '" + shortened(a.get("r")) + "' stands after row " +
                     std::to_string(row_));
  }
  // Rows that are not in the file are empty, and count.
  out_.append(*number - row_ - 1, '\n');
  row_ = *number;
  if (a.get("hidden") == "1" || a.get("hidden") == "true") ++hidden_rows_;
}

void SheetHandler::begin_cell(const XmlAttributes& a) {
  column_ = last_column_ + 1;
  if (a.has("r")) {
    const auto ref = cell_ref(a.get("r"));
    if (!ref || ref->row != row_ || ref->column <= last_column_) {
      return fail_here("cell '" + shortened(a.get("r")) + "' stands in row " +
                       std::to_string(row_) + " after column " + std::to_string(last_column_));
    }
    column_ = ref->column;
  }
  last_column_ = column_;
  type_ = a.get("t");
  style_ = whole(a.get("s")).value_or(0);
  value_.clear();
  in_cell_ = true;
  formula_ = has_value_ = false;
}

void SheetHandler::end_cell() {
  in_cell_ = false;
  if (formula_) {
    ++formulas_;
    // A formula may have made an empty text; an empty value of another type was never computed.
    if (!has_value_ || (value_.empty() && type_ != "str")) {
      ++uncomputed_count_;
      if (uncomputed_.size() < 10) uncomputed_.push_back(cell_name(column_, row_));
      return;
    }
  }
  const std::string text = cell_text();
  if (fault_.empty() && !trim(text).empty()) add_cell(text);
}

std::string SheetHandler::number_text() const {
  const std::string_view raw = trim(value_);
  if (style_ < book_.formats.size() && book_.formats[style_].any()) {
    if (const auto serial = parse_number(raw)) {
      if (std::string date = date_text(*serial, book_.formats[style_], book_.from_1904);
          !date.empty()) {
        return date;
      }
    }
  }
  std::string text(raw);
  if (decimal_ != '.') std::replace(text.begin(), text.end(), '.', decimal_);
  return text;
}

std::string SheetHandler::cell_text() {
  if (type_ == "s") {
    const auto index = whole(trim(value_));
    if (!index || *index >= book_.texts.size()) {
      fail_here("a text that is not among the texts of the workbook");
      return "";
    }
    return std::string(book_.texts.at(*index));
  }
  if (type_.empty() || type_ == "n") return number_text();
  if (type_ == "b") return trim(value_) == "1" || trim(value_) == "true" ? "true" : "false";
  if (type_ == "e") return value_ == "#N/A" ? "NA" : value_;
  if (type_ == "d") {
    std::string date = plain_cell(trim(value_));
    std::replace(date.begin(), date.end(), 'T', ' ');
    if (date.ends_with('Z')) date.pop_back();
    return date;
  }
  return plain_cell(value_);
}

void SheetHandler::add_cell(std::string_view text) {
  if (out_.size() + text.size() + column_ > most_text) {
    return fail_here("the sheet is larger than 512 MB of text");
  }
  const bool first = written_ == 0;
  out_.append(first ? column_ - 1 : column_ - written_, '\t');
  written_ = column_;
  ++filled_;
  // An error such as #DIV/0! in the first cell must not make the row a comment.
  if (text.front() != '"' && !(type_ == "e" && text.front() == '#')) {
    out_ += text;
    return;
  }
  out_ += '"';
  for (const char c : text) {
    out_ += c;
    if (c == '"') out_ += c;
  }
  out_ += '"';
}

void SheetHandler::end_row() {
  // One cell alone is a remark or a title line, not a row of the table.
  if (filled_ > 1) {
    widest_ = std::max(widest_, written_);
    out_.append(widest_ - written_, '\t');
  }
  out_ += '\n';
  column_ = 0;
}

}  // namespace leafwright
