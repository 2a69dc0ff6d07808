// Results of `leafwright fit` for a person at a terminal. Not a format: scripts read the JSON.
#pragma once

#include <string>

#include "report/fit_document.hpp"

namespace leafwright {

/// Up to this many curves are shown in full, more as a table with one line each.
inline constexpr std::size_t most_curves_in_full = 2;

/// How the curves were fitted, the estimates, the notes (the same note of many curves once, with a
/// count), the curves that failed, and as the last line how many were fitted.
///
/// An end that the data do not bound is shown as "> 7.9" or "< 64", a parameter that they do not
/// tell as "not identified". Intervals are those for correlated residuals where the fit has them.
std::string fit_text(const FitDocument& document);

/// The value of an estimate in words: "61.2", "0.90 fixed", "> 7.9", "not identified". `decimals`
/// behind the point.
std::string estimate_text(const Estimate& estimate, int decimals);

/// "58.6-64.1", "> 58.6", "< 64.1", "open", "" where there is nothing to say.
std::string interval_words(const std::optional<double>& low, const std::optional<double>& high,
                           int decimals);

}  // namespace leafwright
