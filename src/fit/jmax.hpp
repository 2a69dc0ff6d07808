// Jmax from the J of an A-Ci curve and the light it was measured in:
//   theta J^2 - (I2 + Jmax) J + I2 Jmax = 0,  so  Jmax = J (I2 - theta J)/(I2 - J),  J < I2
//   I2 = Qin absorptance (1 - f)/2            (von Caemmerer 2000, from memory)
// Jmax rises with J, so the ends of J's interval become those of Jmax; an end at or above I2 is
// open. The interval holds the noise of the points alone: absorptance, f and theta are taken as
// known, and where light is far from saturating they decide Jmax more than J does.
#pragma once

#include "fit/fit.hpp"
#include "fit/rows.hpp"

namespace leafwright {

/// Below this share of Jmax the light is said not to saturate (common practice, no source).
inline constexpr double saturating_share = 0.95;

/// Fills `out.light`, adds the estimate Jmax (Jmax_gm under finite gm) and Jmax25 where the
/// response set treats J, with notes: Qin missing or varying by more than 5 %, J at or above I2
/// (then Jmax is not identified or a lower bound), light that does not saturate. Q is the mean over
/// the rows that RuBP limits, or over all used rows where there is none.
void add_jmax(CurveFit& out, const UsableRows& usable, const C3FitOptions& options);

/// Computes the estimate and its value at 25 degC anew where J's interval has changed. Nothing
/// where Jmax was not asked for.
void update_jmax(CurveFit& fit);

}  // namespace leafwright
