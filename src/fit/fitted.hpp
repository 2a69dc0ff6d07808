// Reading a fitted curve, whatever its pathway and form: which estimates it has, what limits a row,
// and the rate it gives at any Ci. Reports and figures ask here.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fit/result.hpp"

namespace leafwright {

/// The estimates of a fit in the order to print: C3 Vcmax, J, TPU, Rday (and gm); C4 Vpmax, the
/// plateau, Rday, initial slope.
std::vector<const Estimate*> estimates_of(const CurveFit& fit);
/// The estimate of that symbol, or null.
const Estimate* find_estimate(const CurveFit& fit, std::string_view symbol);

/// "rubisco", "rubp", "tpu"; of a C4 row "pep" or "plateau".
const char* row_state_name(const FittedRow& row);

/// Names of the states that limit a used row, in the order of rising Ci.
std::vector<std::string> limiting_states(const CurveFit& fit);

/// Where one state hands over to the next.
struct NamedTransition {
  std::string from, to;
  double Ci = 0;  ///< umol mol-1
};
std::vector<NamedTransition> transitions_of(const CurveFit& fit);

/// Net rate of the fitted curve at Ci (> 0), umol m-2 s-1.
double fitted_rate(const CurveFit& fit, double Ci);

/// C4: net rate if only this side acted; +infinity where it limits nothing.
double c4_limited_rate(const C4Fitted& fitted, C4State state, double Ci);
/// C4: the fitted curve.
double c4_fitted_rate(const C4Fitted& fitted, double Ci);
/// C4: which side limits at Ci. Of the smooth Vcmax form, the lower of its two asymptotes.
C4State c4_state_at(const C4Fitted& fitted, double Ci);

}  // namespace leafwright
