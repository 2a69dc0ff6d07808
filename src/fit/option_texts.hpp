// Settings of the fit that are written the same way for every pathway.
#pragma once

#include <string>

#include "base/error.hpp"
#include "fit/fit.hpp"

namespace leafwright {

/// "free", a number, "column:NAME", "fraction:VALUE", "dark:VALUE" or "dark:column:NAME", without
/// what belongs to the dark. Errors: usage.
Result<RdaySource> parse_rday(const std::string& text);
/// The response of Rday in the set of that name. Errors: usage, where there is no such set, or it
/// does not treat Rday.
using FindRdayResponse = Result<Response> (*)(const std::string& set);
/// The setting `rday` with what belongs to the dark. Errors: usage, also where a dark value comes
/// without the share that light inhibits, or the settings of the dark without a dark value.
Result<RdaySource> rday_source(const Settings& settings, FindRdayResponse find);
/// "none", "hyperbola" or "exponential", which the setting has checked.
EmpiricalForm empirical_of(const std::string& text);
/// "auto", "none" or a number from 0 to 0.98. Errors: usage.
Result<CorrelationSource> parse_correlation(const std::string& text);

}  // namespace leafwright
