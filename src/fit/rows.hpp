// The rows of a curve that a fit uses, and where its Rday comes from: the same for every pathway.
#pragma once

#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "fit/fit.hpp"
#include "log/curve.hpp"

namespace leafwright {

/// The rows of a curve that the fit uses, and what was left out.
struct UsableRows {
  std::vector<const CurveRow*> rows;
  double tleaf = 0, patm = 0;  ///< means, degC and kPa
  double tleaf_spread = 0;     ///< K
  Notes notes;
};
/// Rows marked for use with Ci above 0. Errors: unfit, where there is none (with the last reason).
Result<UsableRows> usable_rows(const Curve& curve);

struct RdayChoice {
  RdayMode mode = RdayMode::free;
  double value = 0;
  std::optional<DarkRespiration> dark;  ///< where the value comes from a dark measurement
};
/// Dark respiration r at Td becomes r (1 - inhibition) f(Tleaf)/f(Td), f the response; without Td
/// it is taken as measured at the curve's Tleaf. Errors: unfit, where a column has no value, two
/// values or a negative one within the curve; where Td is more than 0.5 K from Tleaf and no
/// response is stated; where a temperature is outside -10..60 degC.
Result<RdayChoice> rday_of(const UsableRows& usable, const RdaySource& source);

}  // namespace leafwright
