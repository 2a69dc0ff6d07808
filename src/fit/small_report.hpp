// What every fit of a CurveModel tells in the same words: rows, residual checks, degrees of freedom
// and the notes that follow from them.
#pragma once

#include "fit/rows.hpp"
#include "fit/small_fit.hpp"

namespace leafwright {

/// Fills points, used, Tleaf, Patm, rows (in order of Ci; states are the caller's), ssr, rmse, df,
/// interval_kind and the residual checks. `order[i]` is the usable row behind row i of the model.
void describe_small_fit(CurveFit& out, const UsableRows& usable, const CurveModel& model,
                        const SmallMinimum& best, const std::vector<std::size_t>& order,
                        const SmallIntervals& how);

/// Notes about few degrees of freedom, outliers, runs and a Tleaf that varies.
void note_small_fit(CurveFit& out, const UsableRows& usable);

/// Where rows count by the sd of a column: their sd, the weighting, and notes on it. After
/// describe_small_fit; nothing where `sd_column` is empty.
void describe_weights(CurveFit& out, const UsableRows& usable,
                      const std::vector<std::size_t>& order, const std::string& sd_column);

/// Usable rows in order of rising Ci.
std::vector<std::size_t> order_by_ci(const UsableRows& usable);

}  // namespace leafwright
