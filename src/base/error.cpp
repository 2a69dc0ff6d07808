#include "base/error.hpp"

#include <algorithm>

namespace leafwright {

namespace {

bool continues_character(char c) {
  return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U;
}

// The excerpt with a caret under the column. Lines of a log can be a thousand characters long; only
// a window round the column is shown, or the caret would land on a wrapped line.
std::string excerpt_with_caret(const Place& place) {
  constexpr std::size_t width = 88;
  const std::string& line = place.excerpt;
  const std::size_t at = place.column > 0 ? std::min(place.column - 1, line.size()) : 0;
  std::size_t begin = 0;
  std::size_t end = line.size();
  if (line.size() > width) {
    begin = at > width / 2 ? std::min(at - width / 2, line.size() - width) : 0;
    end = begin + width;
    while (begin > 0 && continues_character(line[begin])) --begin;
    while (end < line.size() && continues_character(line[end])) ++end;
  }
  const std::string lead = begin > 0 ? "..." : "";
  std::string out =
      "\n  " + lead + line.substr(begin, end - begin) + (end < line.size() ? "..." : "");
  if (place.column == 0) return out;
  out += "\n  " + std::string(lead.size(), ' ');
  // Tabs are kept so that the caret stands under the same column on a terminal; bytes that
  // continue a UTF-8 character take no room of their own.
  for (std::size_t i = begin; i < at; ++i) {
    if (!continues_character(line[i])) out += line[i] == '\t' ? '\t' : ' ';
  }
  return out + "^";
}

}  // namespace

const char* code_name(ErrorCode code) {
  switch (code) {
    case ErrorCode::usage:
      return "usage";
    case ErrorCode::unreadable:
      return "unreadable";
    case ErrorCode::refused:
      return "refused";
    case ErrorCode::unfit:
      return "unfit";
    case ErrorCode::internal:
      return "internal";
  }
  return "internal";
}

std::string column_letters(std::size_t column) {
  std::string out;
  for (; column > 0; column = (column - 1) / 26) {
    out.insert(out.begin(), static_cast<char>('A' + (column - 1) % 26));
  }
  return out;
}

std::string Place::text() const {
  if (cell && column > 0) return file + " " + column_letters(column) + std::to_string(line);
  std::string out = file;
  for (const std::size_t number : {line, column}) {
    if (number > 0) out += (out.empty() ? "" : ":") + std::to_string(number);
  }
  return out;
}

std::string Error::text() const {
  std::string out = place.text();
  if (!out.empty()) out += ": ";
  out += found;
  if (!expected.empty()) out += "; " + expected;
  if (!hint.empty()) out += "; " + hint;
  if (!place.excerpt.empty() && !place.cell) out += excerpt_with_caret(place);
  return out;
}

}  // namespace leafwright
