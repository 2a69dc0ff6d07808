#include "table/detect.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <vector>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/unit.hpp"
#include "table/number_text.hpp"
#include "table/table.hpp"

namespace leafwright {

namespace {

std::vector<std::size_t> sample_lines(std::string_view text) {
  constexpr std::size_t from_start = 400, from_middle = 100;
  std::vector<std::size_t> out;
  const auto take = [&](std::size_t at, std::size_t most) {
    while (at < text.size() && most > 0) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      if (!trim(text.substr(at, end - at)).empty() && !is_comment(text, at)) {
        out.push_back(at);
        --most;
      }
      at = end + 1;
    }
    return at;
  };
  const std::size_t reached = take(0, from_start);
  const std::size_t middle = std::max(reached, text.size() / 2);
  const std::size_t line = text.find('\n', middle);
  if (line != std::string_view::npos) take(line + 1, from_middle);
  return out;
}

struct Width {
  double lines = 0, cells = 0, numbers = 0;
  [[nodiscard]] double score(std::size_t fields, double all_lines) const {
    // A width that few lines have proves little. The last term ranks texts (nearly) without
    // numbers, by how steady their width is.
    const double share = lines / all_lines;
    const bool steady = fields > 1 && share > 0.6;
    return share * numbers * numbers / std::max(cells, 1.0) +
           (steady ? 1e-3 * lines * static_cast<double>(fields - 1) : 0);
  }
};

struct Score {
  Marks marks;
  double value = -1;
  std::string doubtful;       // a cell such as 12,345
  bool comma_proved = false;  // a comma that can only be a decimal mark
};

Score score_marks(std::string_view text, const std::vector<std::size_t>& lines, char delimiter,
                  char decimal) {
  const Splitter splitter(text, delimiter);
  Score out;
  std::map<std::size_t, Width> widths;
  Record record;
  for (const std::size_t at : lines) {
    splitter.next(at, record);
    Width& width = widths[record.fields.size()];
    width.lines += 1;
    for (const Field& field : record.fields) {
      const std::string_view cell = trim(splitter.view(field));
      if (cell.empty()) continue;
      width.cells += 1;
      const bool number = parse_number(cell, decimal).has_value();
      if (!number && !is_missing(cell)) continue;
      width.numbers += 1;
      if (!number || decimal != ',' || cell.find(',') == std::string_view::npos) continue;
      if (may_hold_thousands(cell)) {
        if (out.doubtful.empty()) out.doubtful = std::string(cell);
      } else {
        out.comma_proved = true;
      }
    }
  }
  for (const auto& [fields, width] : widths) {
    if (fields < 2 && widths.size() > 1) continue;
    const double value = width.score(fields, static_cast<double>(lines.size()));
    if (value <= out.value) continue;
    out.value = value;
    out.marks = {delimiter, decimal, fields};
  }
  return out;
}

}  // namespace

bool is_comment(std::string_view text, std::size_t at) {
  while (at < text.size() && (text[at] == ' ' || text[at] == '\t')) ++at;
  return at < text.size() && text[at] == '#';
}

Result<Marks> detect_marks(std::string_view text, const LayoutChoice& choice) {
  const std::vector<std::size_t> lines = sample_lines(text);
  Score best;
  for (const char delimiter : {'\t', ';', ',', ' '}) {
    if (choice.delimiter && *choice.delimiter != delimiter) continue;
    for (const char decimal : {'.', ','}) {
      if (choice.decimal && *choice.decimal != decimal) continue;
      Score score = score_marks(text, lines, delimiter, decimal);
      if (score.value > best.value * (1 + 1e-12)) best = std::move(score);
    }
  }
  if (best.value < 0 || best.marks.fields < 2) {
    best.marks = {choice.delimiter.value_or(','), choice.decimal.value_or('.'), 1};
  }
  if (best.marks.decimal == ',' && !choice.decimal && !best.comma_proved &&
      !best.doubtful.empty()) {
    std::string whole = best.doubtful;
    std::string point = best.doubtful;
    whole.erase(std::remove(whole.begin(), whole.end(), ','), whole.end());
    std::replace(point.begin(), point.end(), ',', '.');
    return fail(ErrorCode::unreadable,
                "numbers such as '" + best.doubtful + "' may be " + point + " or " + whole,
                "at least one number that shows what the comma is",
                "write the numbers with a decimal point, or without thousands separators");
  }
  return best.marks;
}

Cells count_cells(const Splitter& splitter, const Record& record, char decimal) {
  Cells out;
  for (const Field& field : record.fields) {
    const std::string_view cell = trim(splitter.view(field));
    if (is_missing(cell)) {
      ++out.missing;
    } else if (parse_number(cell, decimal)) {
      ++out.numbers;
    } else {
      ++out.words;
    }
  }
  return out;
}

bool has_number(const Splitter& splitter, const Record& record, char decimal) {
  return std::any_of(record.fields.begin(), record.fields.end(), [&](const Field& field) {
    return parse_number(trim(splitter.view(field)), decimal).has_value();
  });
}

std::string_view without_brackets(std::string_view text) {
  text = trim(text);
  if (text.size() < 2) return text;
  const bool round = text.front() == '(' && text.back() == ')';
  const bool square = text.front() == '[' && text.back() == ']';
  return round || square ? trim(text.substr(1, text.size() - 2)) : text;
}

bool is_units_row(const Splitter& splitter, const Record& record, char decimal) {
  std::size_t units = 0, others = 0;
  for (const Field& field : record.fields) {
    const std::string_view cell = without_brackets(splitter.view(field));
    // A pure number's unit and the patterns of dates say nothing for or against.
    if (is_missing(cell) || cell == "-" || lower_case(cell) == "yyyy-mm-dd" ||
        lower_case(cell) == "hh:mm:ss") {
      continue;
    }
    if (parse_number(cell, decimal)) return false;
    (parse_unit(cell) ? units : others) += 1;
  }
  return units > others && (units > 1 || (units == 1 && record.fields.size() <= 2));
}

}  // namespace leafwright
