#include "base/number.hpp"

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <cstdint>
#include <system_error>

namespace leafwright {

namespace {

/// Exact as doubles.
constexpr std::array<double, 16> tens = {1e0, 1e1, 1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                         1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15};

/// size * 10^power as a whole number, where rounding cannot go wrong: the product is off by less
/// than 1e-5, so a fraction that far from one half says which way. Tables and figures of a ramp
/// hold tens of thousands of numbers, and the general way is some ten times slower.
std::optional<std::uint64_t> scaled(double size, int power) {
  const double product = size * tens[static_cast<std::size_t>(power)];
  if (!(product < 1e11)) return {};
  const double below = std::floor(product), rest = product - below;
  if (std::abs(rest - 0.5) < 1e-4) return {};
  return static_cast<std::uint64_t>(below) + (rest > 0.5 ? 1 : 0);
}

/// What "%.{digits}g" prints, for numbers of common size.
std::optional<std::string> rounded_quickly(double value, int digits) {
  const double size = std::abs(value);
  if (digits < 1 || digits > 10 || !(size >= 1e-4 && size < 1e10)) return {};
  int lead = -4;  // power of ten of the first digit
  const auto power = [](int of) {
    const auto at = static_cast<std::size_t>(std::abs(of));
    return of < 0 ? 1 / tens[at] : tens[at];
  };
  while (lead < 10 && size >= power(lead + 1)) {
    ++lead;
  }
  if (lead >= digits) return {};
  auto whole = scaled(size, digits - 1 - lead);
  if (!whole) return {};
  std::string text = std::to_string(*whole);
  const auto wanted = static_cast<std::size_t>(digits);
  if (text.size() == wanted + 1) {  // 9.99 became 10.0
    text.pop_back();
    ++lead;
  }
  if (text.size() != wanted || lead >= digits) return {};
  text.erase(text.find_last_not_of('0') + 1);
  if (lead < 0) {
    text.insert(0, "0." + std::string(static_cast<std::size_t>(-lead - 1), '0'));
  } else if (const auto before = static_cast<std::size_t>(lead) + 1; text.size() > before) {
    text.insert(before, 1, '.');
  } else {
    text.append(before - text.size(), '0');
  }
  return value < 0 ? "-" + text : text;
}

}  // namespace

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
  if (auto text = rounded_quickly(value, digits)) return std::move(*text);
  return fmt::format("{:.{}g}", value, digits);
}

}  // namespace leafwright
