// Pairs of ramps in a study: an up and a down ramp of one leaf become one more curve.
#pragma once

#include "base/error.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Fits every pair that [ramp] states to the ramps of the run, and adds its curve (id "ID + ID",
/// rows of both, Ci with the lag taken out) and its samples: what both ramps share, "A + B" where
/// they differ, method "ramp pair". What cannot be done is in about.left_out and the complaints.
/// Errors: usage, settings.
Result<void> add_pairs(StudyRun& run);

/// Intervals of the fits to pairs, from the errors of both ramps.
void widen_pairs(StudyRun& run);

/// Error: usage, for settings of pairs that do not make sense.
Result<void> check_pairs(const Study& study);

}  // namespace leafwright
