// Settings of the fit that are written the same way for every pathway.
#pragma once

#include <string>

#include "base/error.hpp"
#include "fit/fit.hpp"

namespace leafwright {

/// "free", a number, "column:NAME" or "fraction:VALUE". Errors: usage.
Result<RdaySource> parse_rday(const std::string& text);
/// "none", "hyperbola" or "exponential", which the setting has checked.
EmpiricalForm empirical_of(const std::string& text);
/// "auto", "none" or a number from 0 to 0.98. Errors: usage.
Result<CorrelationSource> parse_correlation(const std::string& text);

}  // namespace leafwright
