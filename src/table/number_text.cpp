#include "table/number_text.hpp"

#include <cctype>

#include "base/number.hpp"
#include "base/text.hpp"
#include "table/table.hpp"

namespace leafwright {

namespace {

bool digit(char c) {
  return c >= '0' && c <= '9';
}

bool spreadsheet_error(std::string_view text) {
  return text.size() > 2 && text.front() == '#' &&
         (text.back() == '!' || text.back() == '?' || text == "#N/A" || text == "#NUM");
}

bool infinite(std::string_view text) {
  while (!text.empty() && (text.front() == '-' || text.front() == '+')) text.remove_prefix(1);
  return same_letters(text, "inf") || same_letters(text, "infinity");
}

// How many characters at the start are a number by themselves ("12.3 kPa": 4).
std::size_t leading_number(std::string_view text, char decimal) {
  std::size_t end = 0;
  while (end < text.size() &&
         (digit(text[end]) || text[end] == decimal || text[end] == '-' || text[end] == '+')) {
    ++end;
  }
  return end > 0 && parse_number(text.substr(0, end), decimal) ? end : 0;
}

}  // namespace

bool may_hold_thousands(std::string_view text, char separator) {
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) text.remove_prefix(1);
  if (text.empty() || text.front() == '0') return false;
  std::size_t at = 0;
  while (at < text.size() && digit(text[at])) ++at;
  if (at == 0 || at > 3 || at == text.size()) return false;
  while (at < text.size()) {
    if (text[at] != separator || at + 4 > text.size()) return false;
    for (std::size_t i = at + 1; i < at + 4; ++i) {
      if (!digit(text[i])) return false;
    }
    at += 4;
  }
  return true;
}

Error not_a_number(std::string_view text, char decimal) {
  const std::string shown = "'" + shortened(text) + "'";
  const char other = decimal == '.' ? ',' : '.';
  Error error{ErrorCode::unreadable,
              {},
              shown + " is not a number",
              "a number or an empty cell",
              "correct or empty the cell"};
  const std::size_t mark = text.rfind(decimal);
  const std::string_view whole = text.substr(0, mark);
  const bool grouped =
      may_hold_thousands(whole, other) && (mark == std::string_view::npos || whole != text);
  if (spreadsheet_error(text)) {
    error.found = shown + " is a spreadsheet's error, not a number";
    error.hint = "correct the formula it came from, or empty the cell";
  } else if (grouped && mark != std::string_view::npos) {
    error.found = shown + " holds a thousands separator";
    error.hint = "write it without";
  } else if (parse_number(text, other)) {
    error.found = shown + " has a decimal " + (other == ',' ? "comma" : "point");
    error.expected = std::string("a decimal ") + (decimal == ',' ? "comma" : "point") +
                     ", as elsewhere in this file";
    error.hint = may_hold_thousands(text, other)
                     ? "if it is a thousands separator, write the number without"
                     : "use one decimal mark throughout";
  } else if (grouped) {
    error.found = shown + " holds thousands separators";
    error.hint = "write it without";
  } else if (infinite(text)) {
    error.found = shown + " is not a finite number";
  } else if (const std::size_t end = leading_number(text, decimal); end > 0) {
    const std::string_view rest = trim(text.substr(end));
    const bool exponent = !rest.empty() && (rest.front() == 'e' || rest.front() == 'E') &&
                          rest.size() > 1 && (digit(rest.back()));
    if (exponent) {
      error.found = shown + " is beyond the range of numbers";
    } else {
      error.found = shown + " is a number followed by '" + shortened(rest, 20) + "'";
      error.hint = "put a unit into the column's title, as in 'Patm (kPa)', or correct the cell";
    }
  }
  return error;
}

}  // namespace leafwright
