#include "base/number.hpp"

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include <cmath>
#include <system_error>

namespace leafwright {

std::optional<double> parse_number(std::string_view text, char decimal) {
  if (!text.empty() && text.front() == '+') {
    text.remove_prefix(1);
    if (!text.empty() && text.front() == '-') return std::nullopt;
  }
  // The library also reads "nan" and "infinity": a number must begin with a digit or the mark.
  const std::size_t first = !text.empty() && text.front() == '-' ? 1 : 0;
  if (first >= text.size()) return std::nullopt;
  const char lead = text[first];
  if ((lead < '0' || lead > '9') && lead != decimal) return std::nullopt;
  if (decimal == ',') {
    const std::size_t mark = text.find(',');
    if (mark != std::string_view::npos &&
        (mark + 1 == text.size() || text[mark + 1] < '0' || text[mark + 1] > '9')) {
      return std::nullopt;
    }
  }
  double value = 0;
  const char* end = text.data() + text.size();
  const fast_float::parse_options options{fast_float::chars_format::general, decimal};
  const auto [stopped, problem] = fast_float::from_chars_advanced(text.data(), end, value, options);
  if (problem != std::errc() || stopped != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::string print_number(double value) {
  if (!std::isfinite(value)) return "";
  if (value == 0) return "0";
  return fmt::format("{}", value);
}

std::string print_number(std::optional<double> value) {
  return value ? print_number(*value) : "";
}

std::string print_rounded(double value, int digits) {
  if (!std::isfinite(value)) return "";
  if (value == 0) return "0";
  return fmt::format("{:.{}g}", value, digits);
}

}  // namespace leafwright
