// Flags on fitted values that lie outside what published leaves hold. A flag is a note with its
// source: it changes no number and removes no curve, and a value without a flag is not proved.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "fit/result.hpp"

namespace leafwright {

/// One published range. `quantity` is a symbol of the fit, or a ratio such as "J/Vcmax", which is
/// judged at 25 degC only. `low` or `high` may be missing: that side is not judged.
struct PublishedRange {
  const char* key;       ///< of the note, "range-..."
  const char* quantity;  ///< Vcmax, J, TPU, gm, initial_slope, or a ratio of two symbols
  const char* pathway;   ///< "C3" or "C4": leaves of the other are not judged
  const char* unit;      ///< "" for ratios
  std::optional<double> low, high;
  const char* holds;   ///< what the range is, for people
  const char* source;  ///< author, year, journal; "from memory" where it was not seen
};

/// Every range that fits are held against; docs/methods-ranges.md lists the same.
std::span<const PublishedRange> published_ranges();

/// Ci (Pa) up to which Rubisco and from which RuBP usually limits a C3 leaf near 25 degC in
/// saturating light (Sharkey et al. 2007, from memory).
inline constexpr double rubisco_below_pa = 20, rubp_above_pa = 30;

/// Adds a caution for every value outside its range; for Rday that the fit holds at 0; for a C3
/// curve within 5 K of 25 degC none of whose rows lies below 20 Pa, or above 30 Pa. A bound
/// is judged only where the whole of what it leaves open is outside.
void flag_ranges(CurveFit& fit);

/// True of the keys that flag_ranges and the reader of points give to values outside a range.
bool is_range_flag(std::string_view note_key);

}  // namespace leafwright
