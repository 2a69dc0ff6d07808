// Intervals and statuses of the parameters of one solved problem.
//
// Profile intervals: all values of a parameter for which some choice of the others gives
//   SSR <= SSR_min (1 + F(level; 1, df)/df),  sums being weighted where rows have weights,   df =
//   rows - parameters the fit was permitted.
// They are exact (exact.hpp, profile_extent), follow kinks, and say when a side is open.
#pragma once

#include <optional>

#include "fit/correlation.hpp"
#include "fit/exact.hpp"
#include "fit/result.hpp"

namespace leafwright {

struct IntervalRequest {
  double level = 0.95;
  std::optional<double> correlation;  ///< rho for the widened intervals
  bool profile = true;                ///< false: estimates and standard errors only
  double variance_factor = 1;         ///< on the residual variance (K^2 of Huber's loss)
};

/// Vcmax, J, TPU, Rday of a solved problem.
struct ParameterEstimates {
  Estimate Vcmax, J, TPU, Rday;
};

/// `observations` are those the problem was made from: a parameter that the fit does not permit is
/// bounded through a fit that permits it as well. `electrons`, `alpha` as for make_problem.
ParameterEstimates estimate_parameters(const CellList& cells, const ExactSolution& solution,
                                       const Design& design,
                                       std::span<const Observation> observations,
                                       const Electrons& electrons, double alpha,
                                       const IntervalRequest& request);

/// Residual bootstrap percentile intervals (Efron 1979): residuals, centred and inflated by
/// sqrt(n/df), are put back on the fitted curve `replicates` times and each is solved exactly. A
/// side is open where more than (1 - level)/2 of the replicates leave the parameter without rows.
/// `stream_name` keys the random numbers (the curve_id).
void bootstrap_intervals(ParameterEstimates& estimates, const C3Problem& problem,
                         const ExactSolution& solution, double level, std::size_t replicates,
                         std::uint64_t seed, std::string_view stream_name);

}  // namespace leafwright
