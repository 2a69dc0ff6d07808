// Texts that are dates and times of day, as logs write them.
#pragma once

#include <string_view>

namespace leafwright {

/// YYYY-MM-DD
bool is_date_text(std::string_view text);
/// HH:MM, HH:MM:SS or HH:MM:SS.fff (or a comma before the fraction)
bool is_time_of_day_text(std::string_view text);
/// A date, a time of day, or both with a blank or T between them.
bool is_time_text(std::string_view text);

}  // namespace leafwright
