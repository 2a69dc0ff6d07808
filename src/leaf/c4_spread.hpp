// How far published temperature responses of C4 capacities disagree.
#pragma once

#include <cstddef>
#include <string_view>

namespace leafwright {

/// How far the named sets disagree: their factors from 25 degC to `tleaf` for "Vpmax", "Vcmax", "J"
/// or "Rday". `sets` is 0 where none treats it (or the symbol is another).
struct C4ResponseSpread {
  double lowest = 1, highest = 1;
  std::string_view lowest_set, highest_set;
  std::size_t sets = 0;
};
C4ResponseSpread c4_response_spread(std::string_view symbol, double tleaf);

}  // namespace leafwright
