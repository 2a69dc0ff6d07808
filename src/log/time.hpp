// When each row of a log was taken, in seconds on one axis: `time_s`, else `elapsed_s`, else the
// columns `date` and `time` in the study's time zone, else `time` alone.
//
// The core knows no clock and no zones: whoever has zone data hands it in as a ZoneRule, else a
// fixed offset from UTC is used. Without either the clock is read as it stands.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "log/log.hpp"

namespace leafwright {

/// Offsets from UTC, seconds east, that a local time can have (local: seconds since 1970-01-01
/// 00:00 by the clock on the wall). One as a rule; two, the earlier moment first, in the hour that
/// a clock change repeats; none in the hour that it leaves out.
using ZoneRule = std::function<std::vector<double>(std::int64_t local)>;

struct TimeChoice {
  ZoneRule zone;                     ///< goes before utc_offset
  std::string zone_name;             ///< for notes
  std::optional<double> utc_offset;  ///< s, east positive
};

enum class TimeSource { none, time_s, elapsed_s, date_time, time_of_day };
const char* time_source_name(TimeSource source);  ///< "none", "time_s", ..., "date and time"

struct TimeAxis {
  TimeSource source = TimeSource::none;
  std::vector<double> seconds;  ///< one per row, not a number where missing; empty for `none`
  /// UTC, seconds since 1970-01-01, of second 0 (date_time); for time_of_day local midnight is 0.
  std::optional<double> epoch;
  std::optional<std::int64_t> first_day;  ///< of the first row by the clock on the wall
  /// Rows whose time is before that of the row above: the clock was set, or records are mixed.
  std::vector<std::size_t> back;
  Notes notes;
  std::vector<Error> problems;  ///< cells that are no date or time; at most ten

  [[nodiscard]] bool there() const { return source != TimeSource::none; }
};

/// Values are never changed: midnight and clock changes are counted through, a clock that was set
/// back stays as it is and is told. Error: unreadable, where no row of the columns `date` and
/// `time` holds a date or time.
Result<TimeAxis> time_axis(const Log& log, const TimeChoice& choice = {});

/// A moment on an axis from text: a number (seconds of the axis), "YYYY-MM-DD HH:MM[:SS]", or
/// "HH:MM[:SS]" (on the first row's day). Error: usage, for other text, or a date where the log has
/// none.
Result<double> moment(const TimeAxis& axis, std::string_view text, const TimeChoice& choice = {});

/// A date and time by the clock on the wall. Empty `day`: no date in the text.
struct ClockText {
  std::optional<std::int64_t> day;  ///< days since 1970-01-01 (proleptic Gregorian)
  std::optional<double> second;     ///< of the day, [0, 86400]
  std::optional<double> offset;     ///< "Z" or "+02:00" behind it, s
};
/// YYYY-MM-DD or YYYY/MM/DD, HH:MM[:SS[.fff]], or both with a blank or T between. Empty: none.
std::optional<ClockText> parse_clock(std::string_view text);

}  // namespace leafwright
