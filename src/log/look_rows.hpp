// Findings about rows and about the order of a log. Used by look.cpp.
#pragma once

#include <vector>

#include "log/look.hpp"

namespace leafwright {

/// Gaps (a step of more than three times the usual one) and steps backwards in the columns
/// time_s and elapsed_s, or else any number column whose unit is one of time.
void look_at_time(const Table& table, LookReport& report);

/// Rows that repeat the one before in every measured column (those of the reporting format except
/// record; at least two): an instrument that logs faster than it measures does this.
void look_at_repeats(const Table& table, LookReport& report);

/// Curve names that come back after other curves.
void look_at_curves(const Table& table, LookReport& report);

}  // namespace leafwright
