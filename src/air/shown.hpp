// A number in a message of this room: what is missing never prints as NaN.
#pragma once

#include <fmt/format.h>

#include <cmath>
#include <string>

namespace leafwright {

/// The shortest text of `value`; "missing" for NaN, "infinite" for infinity.
inline std::string shown(double value) {
  if (std::isnan(value)) return "missing";
  return std::isinf(value) ? "infinite" : fmt::format("{}", value);
}

/// The same with its unit, which a missing number has not.
inline std::string shown(double value, const char* unit) {
  return std::isfinite(value) ? shown(value) + " " + unit : shown(value);
}

}  // namespace leafwright
