// Empty records of several dates: the cells drift and are equalised between them, so that they are
// not one path. Which of them belongs to a leaf, and what changed from date to date.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "ramp/identify.hpp"
#include "ramp/offset_table.hpp"

namespace leafwright {

/// The difference of the cells from each date to the next, of paths identified in the records of
/// each. Also as notes ("cell-difference-changed", "cell-difference-held"; what could not be
/// compared: "cell-difference-not-compared"). Nothing where there are fewer than two dates.
std::vector<OffsetChange> offset_changes(const std::vector<RampRecord>& empties,
                                         const IdentifyOptions& options, Notes& notes);

/// The records of the date nearest to the leaf's, the earlier of two equally near; all of them
/// where they have fewer than two dates.
struct EmptiesOfDate {
  std::vector<std::size_t> use;  ///< of the empties, rising
  /// "empty-of-date" (info, or caution where the date is after the leaf's), and those of
  /// offset_changes.
  Notes notes;
};
/// Errors: usage, empty records of several dates where one of them or the leaf has none.
Result<EmptiesOfDate> empties_of_date(const std::vector<RampRecord>& empties,
                                      const RampRecord& leaf, const IdentifyOptions& options);

}  // namespace leafwright
