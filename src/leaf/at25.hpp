// Moving a capacity to 25 degC, and how much of the moved value is the choice of response:
//   value25 = value/f(Tleaf)
// Published responses agree near 25 degC and part quickly: at 30 degC those named here give factors
// for Vcmax from 1.13 to 1.57. So a moved value comes with the range that the other published
// responses would give, and with a note that grows with the distance. The range is a spread over
// sources (plants, methods, growth temperatures), not a confidence interval.
#pragma once

#include <cstddef>
#include <string_view>

#include "base/error.hpp"
#include "base/note.hpp"
#include "leaf/response.hpp"

namespace leafwright {

/// How one capacity moves from `tleaf` to 25 degC.
struct MoveTo25 {
  double factor = 1;   ///< f(Tleaf): divide by it
  double lowest = 1;   ///< the lowest factor of any named set that treats the capacity
  double highest = 1;  ///< the highest
  std::string_view lowest_set, highest_set;
  std::size_t sets = 0;  ///< how many named sets treat the capacity
  /// Half the range of value25 over those sets, relative to value25:
  /// factor (1/lowest - 1/highest)/2.
  double relative_uncertainty = 0;
  /// about = "moved-to-25". Level: caution from a spread (highest/lowest - 1) of 5 % or a distance
  /// of 2 K, warning from 20 % or 8 K (no source; the distance stands in where few sets treat the
  /// capacity, so that their agreement is not taken for certainty).
  Note note;
};

/// `tleaf` in degC. Errors: unfit, where the set does not treat the capacity (then there is no
/// value at 25 degC) or tleaf is outside -10..60 degC or not finite.
Result<MoveTo25> move_to_25(const ResponseSet& set, Capacity capacity, double tleaf);

}  // namespace leafwright
