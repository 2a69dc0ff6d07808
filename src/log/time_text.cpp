#include "log/time_text.hpp"

#include <algorithm>

namespace leafwright {
namespace {

bool digits(std::string_view text, std::size_t at, std::size_t count) {
  if (at + count > text.size()) return false;
  return std::all_of(text.begin() + static_cast<std::ptrdiff_t>(at),
                     text.begin() + static_cast<std::ptrdiff_t>(at + count),
                     [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

bool is_date_text(std::string_view text) {
  return text.size() == 10 && digits(text, 0, 4) && text[4] == '-' && digits(text, 5, 2) &&
         text[7] == '-' && digits(text, 8, 2);
}

bool is_time_of_day_text(std::string_view text) {
  if (text.size() < 5 || !digits(text, 0, 2) || text[2] != ':' || !digits(text, 3, 2)) return false;
  if (text.size() == 5) return true;
  if (text[5] != ':' || !digits(text, 6, 2)) return false;
  return text.size() == 8 || ((text[8] == '.' || text[8] == ',') && text.size() > 9 &&
                              digits(text, 9, text.size() - 9));
}

bool is_time_text(std::string_view text) {
  if (is_date_text(text) || is_time_of_day_text(text)) return true;
  return text.size() > 11 && is_date_text(text.substr(0, 10)) &&
         (text[10] == ' ' || text[10] == 'T') && is_time_of_day_text(text.substr(11));
}

}  // namespace leafwright
