// Correlations of the estimates of one fit, for what puts fits together.
#pragma once

#include <optional>

#include "fit/result.hpp"

namespace leafwright {

/// Correlations of Vcmax, J and Rday by linearisation at the optimum, every row in the state that
/// it was fitted with; the same for ln of capacities and at 25 degC. TPU, where it limits rows, is
/// fitted along.
struct EstimateCorrelations {
  std::optional<double> Vcmax_J, Vcmax_Rday, J_Rday;
};

/// Empty where a parameter is held, at a bound, or limits no row, and for C4 curves, finite gm, a
/// smooth minimum and kinetics per row.
EstimateCorrelations estimate_correlations(const CurveFit& fit);

}  // namespace leafwright
