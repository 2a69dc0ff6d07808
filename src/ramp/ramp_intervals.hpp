// Standard errors and intervals of a C3 fit to the points of a ramp. Residuals cannot give them: A
// and Ci share noise and so do neighbours (errors 2 to 3 times too small). They come from the noise
// of both analysers, the drift, and the errors of the gas path (covariance.hpp), for the states of
// the fit.
#pragma once

#include <cstddef>
#include <span>

#include "fit/result.hpp"
#include "ramp/correction.hpp"
#include "ramp/pair.hpp"

namespace leafwright {

struct RampIntervalOptions {
  double level = 0.95;            ///< of the intervals of the fit
  bool rday_is_fraction = false;  ///< of Vcmax: then Rday is no column of its own
};

/// Widens se, interval, widened interval and values at 25 degC of every estimated parameter to what
/// the ramp's own errors say (value -+ z se where that is wider, z the normal quantile; open ends
/// stay open), says so in `interval_kind`, and adds a note, about "ramp-intervals", with both
/// standard errors. `record_row` gives for each row of the curve its row of the ramp's record. A
/// fit that this does not hold for (C4, finite gm, a smooth minimum, Rday as a fraction of Vcmax, a
/// ramp without noise) keeps its intervals and is told so.
void widen_to_ramp_errors(const CorrectedRamp& ramp, std::span<const std::size_t> record_row,
                          CurveFit& fit, const RampIntervalOptions& options = {});

/// A row of a curve made of several ramps.
struct RecordRow {
  std::size_t ramp = 0;
  std::size_t at = 0;  ///< row of the ramp's record
};

/// The same for a fit to both passes of a pair: errors of the path act on both at once, and those
/// of the lag that was found and taken out are counted (a stated lag is taken as exact, and said).
void widen_to_pair_errors(std::span<const CorrectedRamp* const> ramps, const RampPair& pair,
                          std::span<const RecordRow> record_row, CurveFit& fit,
                          const RampIntervalOptions& options = {});

}  // namespace leafwright
