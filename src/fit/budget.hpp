// What else moves the numbers: the fit repeated under stated steps of what is taken as known. Noise
// intervals say nothing about these.
#pragma once

#include <span>
#include <vector>

#include "fit/fit.hpp"
#include "fit/result.hpp"

namespace leafwright {

/// A curve's rows as observations, at a leaf temperature shifted by `tleaf_shift` K and with
/// another kinetics set where given. With `options.sd_column` their weights are 1/sd^2 over its
/// mean. Errors: as kinetics_at; unfit, where a row has no sd above 0.
Result<std::vector<Observation>> make_observations(const std::vector<const CurveRow*>& rows,
                                                   double tleaf_mean, double patm_mean,
                                                   const C3FitOptions& options,
                                                   const KineticsSet* set = nullptr,
                                                   double tleaf_shift = 0);

/// Lines for Tleaf +1 K, area +1 %, A +0.1 umol m-2 s-1 (an offset between the analyser cells),
/// the other electron requirement, every other kinetics set for the same CO2, and a smooth truth
/// (theta 0.98: what the sharp minimum reads off a curve whose states blend). A line that cannot be
/// computed is left out. Rows keep the weights of `problem`.
std::vector<BudgetLine> make_budget(const std::vector<const CurveRow*>& rows, double tleaf_mean,
                                    double patm_mean, const C3FitOptions& options,
                                    const C3Problem& problem, const C3Leaf& best);

}  // namespace leafwright
