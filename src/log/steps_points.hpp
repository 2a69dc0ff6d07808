// A continuous log of steps -> a log of one row a plateau, from which fluxes are made like from any
// other: means first, then fluxes of the means.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "log/flux.hpp"
#include "log/steps.hpp"

namespace leafwright {

struct PlateauLog {
  /// CSV: curve_id, time_s (mean, on the axis of the log), the mean of every number channel under
  /// its symbol and in its unit, then rows, repeats, A_row_sd, A_slope, A_slope_se, gsw_slope,
  /// CO2r_slope (per minute), step_role, steady (1 or 0), steady_why.
  std::string csv;
  std::size_t plateaus = 0, unsteady = 0, repeats = 0;
  std::vector<std::size_t> first_rows;  ///< of the log, the first in each mean
  Notes notes;
};

/// `rows` are those of flux_rows(), before screening: a mean of what was not screened out would
/// lean to one side of the noise. Rows that cannot be computed, that the log's own `use` leaves out
/// or during which the cells were equalised enter no mean.
PlateauLog plateau_log(const FluxSource& source, const FluxRows& rows, const StepChoice& choice);

/// Raises the flag not-steady in rows whose column `steady` is 0.
void flag_unsteady(const Log& plateaus, FluxRows& rows);

}  // namespace leafwright
