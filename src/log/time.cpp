#include "log/time.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr double day_s = 86400;
constexpr std::size_t problems_shown = 10;

bool digit(char c) {
  return c >= '0' && c <= '9';
}

/// Exactly `n` digits at the front of `text`, which are taken off.
std::optional<int> take_digits(std::string_view& text, std::size_t n) {
  if (text.size() < n) return std::nullopt;
  int value = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (!digit(text[i])) return std::nullopt;
    value = value * 10 + (text[i] - '0');
  }
  text.remove_prefix(n);
  return value;
}

bool take_char(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

/// Days since 1970-01-01 (Hinnant 2013, "chrono-compatible low-level date algorithms": eras of 400
/// years that begin in March).
std::int64_t days_of(int year, int month, int day) {
  const std::int64_t y = month <= 2 ? year - 1 : year;
  const std::int64_t era = y / 400;
  const std::int64_t of_era = y - era * 400;
  const std::int64_t of_year = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
  return era * 146097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719468;
}

bool valid_day(int year, int month, int day) {
  if (month < 1 || month > 12 || day < 1) return false;
  const bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
  const int last = month == 2                                                ? (leap ? 29 : 28)
                   : (month == 4 || month == 6 || month == 9 || month == 11) ? 30
                                                                             : 31;
  return day <= last;
}

std::optional<std::int64_t> take_date(std::string_view& text) {
  std::string_view rest = text;
  const auto year = take_digits(rest, 4);
  if (!year || rest.empty()) return std::nullopt;
  const char mark = rest.front();
  if ((mark != '-' && mark != '/') || !take_char(rest, mark)) return std::nullopt;
  const auto month = take_digits(rest, 2);
  if (!month || !take_char(rest, mark)) return std::nullopt;
  const auto day = take_digits(rest, 2);
  if (!day || !valid_day(*year, *month, *day)) return std::nullopt;
  text = rest;
  return days_of(*year, *month, *day);
}

std::optional<double> take_time(std::string_view& text) {
  std::string_view rest = text;
  const auto hour = take_digits(rest, 2);
  if (!hour || !take_char(rest, ':')) return std::nullopt;
  const auto minute = take_digits(rest, 2);
  if (!minute || *hour > 24 || *minute > 59) return std::nullopt;
  double second = 0;
  if (take_char(rest, ':')) {
    std::size_t end = 0;
    while (end < rest.size() && (digit(rest[end]) || rest[end] == '.' || rest[end] == ',')) ++end;
    if (end < 2 || !digit(rest[0]) || !digit(rest[1])) return std::nullopt;
    const char mark = rest.substr(0, end).find(',') == std::string_view::npos ? '.' : ',';
    const auto number = parse_number(rest.substr(0, end), mark);
    if (!number || *number >= 61) return std::nullopt;
    second = *number;
    rest.remove_prefix(end);
  }
  text = rest;
  return *hour * 3600.0 + *minute * 60.0 + second;
}

std::optional<double> take_offset(std::string_view& text) {
  if (take_char(text, 'Z')) return 0.0;
  std::string_view rest = text;
  const bool east = take_char(rest, '+');
  if (!east && !take_char(rest, '-')) return std::nullopt;
  const auto hour = take_digits(rest, 2);
  take_char(rest, ':');
  const auto minute = take_digits(rest, 2);
  if (!hour || !minute) return std::nullopt;
  text = rest;
  return (east ? 1 : -1) * (*hour * 3600.0 + *minute * 60.0);
}

/// Counts days and clock changes through a log.
class Clock {
 public:
  Clock(const TimeChoice& choice, TimeAxis& axis) : choice_(choice), axis_(axis) {}

  /// UTC (or local time, where no zone is known) of a row.
  double moment(const ClockText& clock, std::size_t row) {
    double local = *clock.second;
    if (clock.day) {
      local += static_cast<double>(*clock.day) * day_s;
      if (day_ && *day_ != *clock.day) carried_ = 0;  // the date has gone on by itself
      day_ = clock.day;
    }
    local += carried_;
    // Half a day back is midnight where the date does not say so.
    if (local_ && local < *local_ - day_s / 2 && !clock.offset) {
      carried_ += day_s;
      local += day_s;
      ++midnights_;
      if (clock.day && !midnight_row_) midnight_row_ = row;
    }
    local_ = local;
    const double utc = clock.offset ? local - *clock.offset : to_utc(local, row);
    utc_ = utc;
    return utc;
  }

  void say(const Log& log);

 private:
  double to_utc(double local, std::size_t row) {
    if (!choice_.zone) return local - choice_.utc_offset.value_or(0);
    const auto offsets = choice_.zone(static_cast<std::int64_t>(std::floor(local)));
    if (offsets.empty()) {
      if (!skipped_row_) skipped_row_ = row;
      ++skipped_;
      return local - offset_;
    }
    offset_ = offsets.front();
    if (offsets.size() > 1) {
      if (!repeated_row_) repeated_row_ = row;
      // The first pass through the hour, until the clock has jumped back.
      for (const double offset : offsets) {
        offset_ = offset;
        if (!utc_ || local - offset >= *utc_ - 1) break;
      }
    }
    return local - offset_;
  }

  const TimeChoice& choice_;
  TimeAxis& axis_;
  double carried_ = 0, offset_ = 0;
  std::optional<std::int64_t> day_;
  std::optional<double> local_, utc_;
  std::size_t midnights_ = 0, skipped_ = 0;
  std::optional<std::size_t> midnight_row_, skipped_row_, repeated_row_;
};

void Clock::say(const Log& log) {
  const auto at = [&](std::size_t row) { return line_text(log.table().row_place(row)); };
  if (midnight_row_) {
    axis_.notes.push_back({NoteLevel::caution, "date-stands-still",
                           "the time passes midnight at " + at(*midnight_row_) +
                               " and the date does not change: the next day was taken"});
  } else if (midnights_ > 0) {
    axis_.notes.push_back({NoteLevel::info, "midnight",
                           "the time of day passes midnight " + counted(midnights_, "time") +
                               "; counted as the next day"});
  }
  if (repeated_row_) {
    axis_.notes.push_back({NoteLevel::info, "clock-change",
                           "in " + choice_.zone_name + " the hour at " + at(*repeated_row_) +
                               " is there twice; taken as the first until the clock jumps back"});
  }
  if (skipped_row_) {
    axis_.notes.push_back({NoteLevel::caution, "hour-left-out",
                           counted(skipped_, "row") + " (first: " + at(*skipped_row_) +
                               ") lie in an hour that the clocks of " + choice_.zone_name +
                               " leave out; was the clock not changed?"});
  }
}

/// The two columns as clock texts.
class ClockColumns {
 public:
  static std::optional<ClockColumns> find(const Log& log) {
    ClockColumns out;
    out.date_ = log.text_column("date");
    out.time_ = log.text_column("time");
    if (!out.date_ && !out.time_) return std::nullopt;
    return out;
  }

  [[nodiscard]] bool dated() const { return date_.has_value(); }

  /// Empty: missing. Error: unreadable, with its place.
  [[nodiscard]] Result<std::optional<ClockText>> read(const Table& table, std::size_t row) const {
    ClockText out;
    for (const auto& column : {date_, time_}) {
      if (!column) continue;
      const std::string_view text = trim(table.text(*column, row));
      if (is_missing(text)) return std::optional<ClockText>();
      const auto parsed = parse_clock(text);
      if (!parsed) {
        return fail(
            ErrorCode::unreadable,
            "'" + shortened(text) + "' in column '" + table.name(*column) + "' is no date or time",
            "YYYY-MM-DD, HH:MM:SS, or both", "", table.place(*column, row));
      }
      if (parsed->day && !out.day) out.day = parsed->day;
      if (parsed->second) out.second = parsed->second;
      if (parsed->offset) out.offset = parsed->offset;
    }
    if (!out.second) return std::optional<ClockText>();
    return std::optional<ClockText>(out);
  }

 private:
  std::optional<std::size_t> date_, time_;
};

void find_steps_back(const Log& log, TimeAxis& axis) {
  double before = missing;
  double most = 0;
  for (std::size_t row = 0; row < axis.seconds.size(); ++row) {
    const double now = axis.seconds[row];
    if (std::isnan(now)) continue;
    if (now < before) {
      axis.back.push_back(row);
      most = std::max(most, before - now);
    }
    before = now;
  }
  if (axis.back.empty()) return;
  std::string text = "the time steps back in " + counted(axis.back.size(), "row") +
                     " (first: " + line_text(log.table().row_place(axis.back.front())) +
                     ", by up to " + print_rounded(most, 4) + " s)";
  const bool an_hour = most > 3000 && most <= 3600;
  if (axis.source == TimeSource::date_time && an_hour) {
    text += "; about an hour, as clocks are set at the end of summer time: state the time zone";
  } else {
    text += "; was the clock set, or are records mixed?";
  }
  axis.notes.push_back({NoteLevel::caution, "clock-back", std::move(text)});
}

Result<TimeAxis> from_clock(const Log& log, const ClockColumns& columns, const TimeChoice& choice) {
  TimeAxis axis;
  axis.source = columns.dated() ? TimeSource::date_time : TimeSource::time_of_day;
  axis.seconds.assign(log.rows(), missing);
  Clock clock(choice, axis);
  std::size_t bad = 0, good = 0;
  std::optional<Error> first_bad;
  for (std::size_t row = 0; row < log.rows(); ++row) {
    const auto text = columns.read(log.table(), row);
    if (!text) {
      if (!first_bad) first_bad = text.error();
      if (++bad <= problems_shown) axis.problems.push_back(text.error());
      continue;
    }
    if (!*text || (axis.source == TimeSource::date_time && !(*text)->day)) continue;
    const double now = clock.moment(**text, row);
    if (good++ == 0 && axis.source == TimeSource::date_time) {
      axis.epoch = now;
      axis.first_day = (*text)->day;
    }
    axis.seconds[row] = now - axis.epoch.value_or(0);
  }
  if (good == 0) {
    if (first_bad) return fail(*first_bad);
    return TimeAxis{};
  }
  clock.say(log);
  const bool zoned = choice.zone || choice.utc_offset;
  if (axis.source == TimeSource::date_time && !zoned) {
    axis.notes.push_back({NoteLevel::info, "no-time-zone",
                          "date and time are read as they stand: no time zone is stated, so a "
                          "change of the clocks cannot be told"});
  }
  return axis;
}

}  // namespace

const char* time_source_name(TimeSource source) {
  switch (source) {
    case TimeSource::none:
      return "none";
    case TimeSource::time_s:
      return "time_s";
    case TimeSource::elapsed_s:
      return "elapsed_s";
    case TimeSource::date_time:
      return "date and time";
    case TimeSource::time_of_day:
      return "time of day";
  }
  return "none";
}

std::optional<ClockText> parse_clock(std::string_view text) {
  text = trim(text);
  ClockText out;
  out.day = take_date(text);
  if (out.day) {
    if (text.empty()) return out;
    if (!take_char(text, 'T') && !take_char(text, ' ')) return std::nullopt;
    text = trim(text);
  }
  out.second = take_time(text);
  if (!out.second) return std::nullopt;
  text = trim(text);
  if (!text.empty()) out.offset = take_offset(text);
  if (!text.empty()) return std::nullopt;
  return out;
}

Result<TimeAxis> time_axis(const Log& log, const TimeChoice& choice) {
  for (const auto& [symbol, source] :
       {std::pair{"time_s", TimeSource::time_s}, std::pair{"elapsed_s", TimeSource::elapsed_s}}) {
    const Channel* channel = log.find(symbol);
    if (channel == nullptr) continue;
    const bool empty = std::all_of(channel->values.begin(), channel->values.end(),
                                   [](double value) { return std::isnan(value); });
    if (empty) continue;
    TimeAxis axis;
    axis.source = source;
    axis.seconds = channel->values;
    find_steps_back(log, axis);
    return axis;
  }
  const auto columns = ClockColumns::find(log);
  if (!columns) return TimeAxis{};
  auto axis = from_clock(log, *columns, choice);
  if (axis) find_steps_back(log, *axis);
  return axis;
}

Result<double> moment(const TimeAxis& axis, std::string_view text, const TimeChoice& choice) {
  if (const auto number = parse_number(trim(text))) return *number;
  const auto clock = parse_clock(text);
  if (!clock || !clock->second) {
    return fail(ErrorCode::usage, "'" + shortened(text) + "' is no moment",
                "seconds of the log, YYYY-MM-DD HH:MM:SS or HH:MM:SS");
  }
  const double offset = clock->offset.value_or(choice.utc_offset.value_or(0));
  if (axis.source == TimeSource::time_of_day && !clock->day) return *clock->second;
  if (!axis.epoch) {
    return fail(
        ErrorCode::usage,
        "'" + shortened(text) + "' is a " + (clock->day ? "date" : "time of day") +
            ", and the log has " +
            (axis.there() ? std::string("only ") + time_source_name(axis.source) : "no time"),
        "seconds of the log");
  }
  double local = *clock->second;
  if (clock->day) {
    local += static_cast<double>(*clock->day) * day_s;
  } else {
    local += static_cast<double>(axis.first_day.value_or(0)) * day_s;
  }
  if (choice.zone && !clock->offset) {
    const auto offsets = choice.zone(static_cast<std::int64_t>(std::floor(local)));
    if (!offsets.empty()) return local - offsets.front() - *axis.epoch;
  }
  return local - offset - *axis.epoch;
}

}  // namespace leafwright
