// Do the water columns of a ramp belong to the same moment as the recorded E? Water vapour takes
// longer to the analysers than CO2 does, and a log may have taken that out of E and not of H2Os.
// E is recomputed from the columns of each row and compared:
//
//   row by row    equal but for a scale within 3 % (area, flow): E was made from these very columns
//   else          E of the columns(t) = e0 + e1 E recorded(t - l), l by search, both sides smoothed
//                 alike; l counts where the misfit tells it apart from 0
//
// A chamber's storage of water in E looks like a lag of its time constant and cannot be told from
// one; reading the columns l later is right for both.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "ramp/record.hpp"

namespace leafwright {

enum class WaterColumns {
  not_told,  ///< no recorded E, too little movement, or nothing fits
  same_row,  ///< E is the steady balance of the columns of its own row
  aligned,   ///< E is of the same moment, but not row by row (averaged, or another digit)
  late       ///< the columns are later than what E was made from
};
const char* water_columns_name(WaterColumns found);  ///< "not told", "same row", ...

struct WaterAlignment {
  WaterColumns found = WaterColumns::not_told;
  std::size_t rows = 0;                 ///< compared
  double late_s = 0;                    ///< l, where it is told
  double late_low = 0, late_high = 0;   ///< where the misfit is within 10 % of the best
  double misfit = 0, misfit_as_is = 0;  ///< rms, mmol m-2 s-1: at l and at 0
};

/// Looks at E_recorded, H2Or, H2Os, flow and area of the record. Never fails: what cannot be told
/// is not told.
WaterAlignment find_water_alignment(const RampRecord& record);

/// A sentence for the output; about "water-columns" or "water-late".
Note water_note(const WaterAlignment& found);

}  // namespace leafwright
