#include "ramp/record.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <utility>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

namespace {

constexpr std::size_t fewest_rows = 10;
constexpr std::size_t longest_repeat = 3;  // a stuck logger; a longer run is air that stands still

using Series = std::vector<double> RampRecord::*;
constexpr std::array<std::pair<const char*, Series>, 13> series_of = {{
    {"CO2r", &RampRecord::CO2r},
    {"CO2s", &RampRecord::CO2s},
    {"H2Or", &RampRecord::H2Or},
    {"H2Os", &RampRecord::H2Os},
    {"flow", &RampRecord::flow},
    {"Tair", &RampRecord::Tair},
    {"Tleaf", &RampRecord::Tleaf},
    {"Patm", &RampRecord::Patm},
    {"Qin", &RampRecord::Qin},
    {"gbw", &RampRecord::gbw},
    {"A", &RampRecord::A_recorded},
    {"Ci", &RampRecord::Ci_recorded},
    {"E", &RampRecord::E_recorded},
}};

std::string rows_text(const Log& log, const std::vector<std::size_t>& rows) {
  std::vector<std::string> lines;
  for (const std::size_t row : rows)
    lines.push_back(std::to_string(log.table().row_place(row).line));
  return (rows.size() == 1 ? "line " : "lines ") + join(lines, ", ", 5);
}

Result<TimeAxis> axis_of(const Log& log, const TimeChoice& choice, const std::string& name) {
  auto axis = time_axis(log, choice);
  if (!axis || axis->there()) return axis;
  return fail(ErrorCode::unreadable, name + " has no time",
              "a column time_s or elapsed_s in seconds, or date and time",
              "name its column in a map: [columns] elapsed_s = {title = \"...\", unit = \"s\"}");
}

/// YYYY-MM-DD of a day counted from 1970-01-01 (Hinnant's algorithm).
std::string date_text(std::int64_t day) {
  const std::int64_t z = day + 719468, era = (z >= 0 ? z : z - 146096) / 146097;
  const std::int64_t of_era = z - era * 146097;
  const std::int64_t year = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
  const std::int64_t of_year = of_era - (365 * year + year / 4 - year / 100);
  const std::int64_t shifted = (5 * of_year + 2) / 153;
  const std::int64_t month = shifted < 10 ? shifted + 3 : shifted - 9;
  const std::int64_t date = of_year - (153 * shifted + 2) / 5 + 1;
  return fmt::format("{:04}-{:02}-{:02}", year + era * 400 + (month <= 2 ? 1 : 0), month, date);
}

/// The date of a row where the log has one, though its time may be in seconds; else that of the
/// first row of the log.
std::optional<std::string> date_of(const Log& log, std::size_t row, const TimeAxis& time) {
  std::optional<std::int64_t> day = time.first_day;
  if (const auto column = log.text_column("date")) {
    const auto clock = parse_clock(log.table().text(*column, row));
    if (clock && clock->day) day = clock->day;
  }
  if (!day) return std::nullopt;
  return date_text(*day);
}

/// Rows with a time, in file order.
std::vector<std::size_t> timed_rows(const Log& log, const TimeAxis& time,
                                    std::span<const std::size_t> rows, Notes& notes) {
  std::vector<std::size_t> kept, lost;
  for (const std::size_t row : rows) {
    (std::isnan(time.seconds[row]) ? lost : kept).push_back(row);
  }
  if (!lost.empty()) {
    notes.push_back(
        {NoteLevel::caution, "rows-without-time",
         counted(lost.size(), "row") + " without a time left out (" + rows_text(log, lost) + ")"});
  }
  return kept;
}

/// The longest stretch in which the clock does not step back.
Result<std::vector<std::size_t>> one_clock(const Log& log, const TimeAxis& time,
                                           const std::vector<std::size_t>& rows,
                                           const std::string& name, Notes& notes) {
  std::vector<std::size_t> begins = {0}, back;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    if (time.seconds[rows[i]] < time.seconds[rows[i - 1]]) {
      begins.push_back(i);
      back.push_back(rows[i]);
    }
  }
  if (back.empty()) return rows;
  begins.push_back(rows.size());
  std::size_t best = 0;
  for (std::size_t i = 0; i + 1 < begins.size(); ++i) {
    if (begins[i + 1] - begins[i] > begins[best + 1] - begins[best]) best = i;
  }
  const std::size_t length = begins[best + 1] - begins[best];
  if (2 * length < rows.size()) {
    return fail(ErrorCode::unreadable,
                name + ": the clock steps back " + counted(back.size(), "time") + " (" +
                    rows_text(log, back) + ")",
                "one record with rising times",
                "split the log at these lines, or correct the clock in a column of its own",
                log.table().row_place(back.front()));
  }
  notes.push_back({NoteLevel::warning, "clock-back",
                   "the clock steps back at " + rows_text(log, back) + ": only the longest of " +
                       std::to_string(begins.size() - 1) + " stretches is used, " +
                       std::to_string(length) + " of " + counted(rows.size(), "row")});
  const auto from = rows.begin() + static_cast<std::ptrdiff_t>(begins[best]);
  return std::vector<std::size_t>(from, from + static_cast<std::ptrdiff_t>(length));
}

std::vector<std::size_t> without_same_time(const Log& log, const TimeAxis& time,
                                           const std::vector<std::size_t>& rows, Notes& notes) {
  std::vector<std::size_t> kept, lost;
  for (const std::size_t row : rows) {
    const bool same = !kept.empty() && !(time.seconds[row] > time.seconds[kept.back()]);
    (same ? lost : kept).push_back(row);
  }
  if (!lost.empty()) {
    notes.push_back({NoteLevel::caution, "time-repeated",
                     counted(lost.size(), "row") + " with the time of the row before left out (" +
                         rows_text(log, lost) + ")"});
  }
  return kept;
}

bool same_values(const std::vector<const Channel*>& channels, std::size_t a, std::size_t b) {
  return std::all_of(channels.begin(), channels.end(), [&](const Channel* channel) {
    return channel->values[a] == channel->values[b];
  });
}

/// A logger that writes the last values once more adds rows that were never measured. Short runs
/// only, and rare ones: in a hold, coarse digits repeat by themselves.
std::vector<std::size_t> without_repeats(const Log& log, const std::vector<std::size_t>& rows,
                                         Notes& notes) {
  std::vector<const Channel*> channels;
  for (const char* symbol : {"CO2r", "CO2s", "H2Or", "H2Os", "flow"}) {
    const Channel* channel = log.find(symbol);
    if (channel != nullptr && channel->column != Channel::no_column) channels.push_back(channel);
  }
  std::vector<std::size_t> kept, lost;
  for (std::size_t i = 0; i < rows.size();) {
    std::size_t end = i + 1;
    while (end < rows.size() && same_values(channels, rows[i], rows[end])) ++end;
    const bool inside = i > 0 && end < rows.size();
    const std::size_t keep = inside && end - i - 1 <= longest_repeat ? 1 : end - i;
    for (std::size_t j = i; j < end; ++j) (j - i < keep ? kept : lost).push_back(rows[j]);
    i = end;
  }
  if (lost.empty() || channels.size() < 4 || 5 * lost.size() > rows.size()) return rows;
  notes.push_back({NoteLevel::caution, "rows-repeated",
                   counted(lost.size(), "row") + " that repeat the row before in every channel " +
                       "left out (" + rows_text(log, lost) + ")"});
  return kept;
}

void note_gaps(const Log& log, RampRecord& record) {
  const double usual = usual_interval(record);
  std::vector<std::size_t> after;
  double longest = 0;
  for (std::size_t i = 1; i < record.size(); ++i) {
    const double step = record.time_s[i] - record.time_s[i - 1];
    if (step <= 3 * usual || step < 2) continue;
    after.push_back(record.rows[i]);
    longest = std::max(longest, step);
  }
  if (after.empty()) return;
  record.notes.push_back({NoteLevel::caution, "gap",
                          counted(after.size(), "gap") + " before " + rows_text(log, after) +
                              ", the longest " + print_rounded(longest, 4) +
                              " s where rows usually stand " + print_rounded(usual, 3) +
                              " s apart: rows are missing or the clock jumped"});
}

/// CO2 in two units differs by a factor that no leaf makes.
Result<void> check_units(const RampRecord& record) {
  std::vector<double> ratio;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (record.CO2r[i] != 0) ratio.push_back(record.CO2s[i] / record.CO2r[i]);
  }
  const auto middle = median_of(ratio);
  if (middle && *middle > 0.02 && *middle < 50) return {};
  if (!middle) {
    return fail(ErrorCode::unreadable, record.name + ": no row has both CO2r and CO2s",
                "both streams in the same rows", "look at the log with 'leafwright look'");
  }
  return fail(ErrorCode::unreadable,
              record.name + ": CO2s is " + print_rounded(*middle, 3) + " times CO2r",
              "both in one unit, umol mol-1 after conversion",
              "state the unit of each column in the log or in the map");
}

/// Both streams become 300 times larger or smaller from one row to the next, and stay so for three
/// rows: the log changes its unit. Steps of CO2 are smaller, or begin below 1 umol mol-1 in one
/// row.
Result<void> check_one_unit(const Log& log, const RampRecord& record) {
  constexpr double factor = 300;
  const auto jumps = [](double before, double after) {
    return before > 0 && after > 0 && (after > factor * before || before > factor * after);
  };
  for (std::size_t i = 3; i + 2 < record.size(); ++i) {
    bool all = true;
    for (std::size_t k = i; k < i + 3; ++k) {
      all = all && jumps(record.CO2r[k - 3], record.CO2r[k]) &&
            jumps(record.CO2s[k - 3], record.CO2s[k]);
    }
    if (!all) continue;
    return fail(ErrorCode::unreadable,
                record.name + ": CO2r goes from " + print_rounded(record.CO2r[i - 1], 4) + " to " +
                    print_rounded(record.CO2r[i], 4) + " umol mol-1 and CO2s from " +
                    print_rounded(record.CO2s[i - 1], 4) + " to " +
                    print_rounded(record.CO2s[i], 4) + ", and stay there",
                "one unit in all rows",
                "give the rows before and after as two files, each with its unit in the map",
                log.table().row_place(record.rows[i]));
  }
  return {};
}

}  // namespace

std::vector<std::size_t> all_rows(const Log& log) {
  std::vector<std::size_t> rows(log.rows());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  return rows;
}

std::optional<double> median_of(std::span<const double> values) {
  std::vector<double> numbers;
  std::copy_if(values.begin(), values.end(), std::back_inserter(numbers),
               [](double value) { return std::isfinite(value); });
  if (numbers.empty()) return std::nullopt;
  const auto middle = numbers.begin() + static_cast<std::ptrdiff_t>(numbers.size() / 2);
  std::nth_element(numbers.begin(), middle, numbers.end());
  if (numbers.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(numbers.begin(), middle)) / 2;
}

double usual_interval(const RampRecord& record) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < record.size(); ++i) {
    steps.push_back(record.time_s[i] - record.time_s[i - 1]);
  }
  return median_of(steps).value_or(0);
}

Result<RampRecord> ramp_record(const Log& log, std::span<const std::size_t> rows, RecordRole role,
                               const Instrument& instrument, const std::string& name,
                               const TimeChoice& choice) {
  for (const char* symbol : {"CO2r", "CO2s"}) {
    if (log.find(symbol) == nullptr) {
      return fail(ErrorCode::unreadable, name + " has no " + symbol,
                  "CO2 of both streams, columns CO2r and CO2s",
                  "name its column in a map; a differential alone is not enough");
    }
  }
  const auto time = axis_of(log, choice, name);
  if (!time) return fail(time.error());
  RampRecord record;
  record.name = name;
  record.role = role;
  record.instrument = instrument;
  record.area = instrument.area;
  record.co2_per = instrument.co2_per.value_or(Co2Per::moist_air);
  auto kept = one_clock(log, *time, timed_rows(log, *time, rows, record.notes), name, record.notes);
  if (!kept) return fail(kept.error());
  *kept = without_same_time(log, *time, *kept, record.notes);
  record.rows = without_repeats(log, *kept, record.notes);
  if (record.rows.size() < fewest_rows) {
    return fail(ErrorCode::unreadable,
                name + " has " + counted(record.rows.size(), "row") + " with a time of its own",
                "at least " + std::to_string(fewest_rows), "is this the right file?");
  }
  const auto take = [&](const Channel& channel) {
    std::vector<double> values;
    values.reserve(record.rows.size());
    for (const std::size_t row : record.rows) values.push_back(channel.values[row]);
    return values;
  };
  for (const std::size_t row : record.rows) record.time_s.push_back(time->seconds[row]);
  record.date = date_of(log, record.rows.front(), *time);
  record.notes.insert(record.notes.end(), time->notes.begin(), time->notes.end());
  for (const auto& [symbol, series] : series_of) {
    if (const Channel* channel = log.find(symbol); channel != nullptr) {
      record.*series = take(*channel);
    }
  }
  if (const Channel* area = log.find("area"); area != nullptr) {
    if (const auto middle = median_of(take(*area))) record.area = *middle;
  }
  if (auto right = check_units(record); !right) return fail(right.error());
  if (auto one = check_one_unit(log, record); !one) return fail(one.error());
  note_gaps(log, record);
  return record;
}

}  // namespace leafwright
