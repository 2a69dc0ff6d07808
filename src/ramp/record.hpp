// A continuous record of both gas streams, as series over time: a CO2 ramp on a leaf, or the same
// with the chamber empty. Every correction reads this and nothing else.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"
#include "base/note.hpp"
#include "log/instrument.hpp"
#include "log/log.hpp"
#include "log/time.hpp"

namespace leafwright {

enum class RecordRole { leaf, empty };

/// When the two analyser cells were last made to agree on the same air.
struct CellsEqualised {
  std::string date;    ///< YYYY-MM-DD
  double by = 0;       ///< what CO2s was shifted by, umol mol-1
  bool in_log = true;  ///< do the logged values contain that step already?
};

/// Series of equal length, in the units of quantity/symbol.hpp; times strictly increase. Not a
/// number marks a missing value inside a series; a series that the log lacks is empty.
struct RampRecord {
  std::string name;  ///< for messages: file, or file and curve_id
  RecordRole role = RecordRole::leaf;
  std::vector<std::size_t> rows;  ///< rows of the log, in the order of the series
  std::vector<double> time_s;
  std::vector<double> CO2r, CO2s;  ///< umol mol-1, per `co2_per`
  std::vector<double> H2Or, H2Os;  ///< mmol mol-1
  std::vector<double> flow;        ///< umol s-1, moist air into the chamber
  std::vector<double> Tair, Tleaf, Patm, Qin, gbw;
  std::vector<double> A_recorded, Ci_recorded, E_recorded;
  std::optional<std::string> date;  ///< YYYY-MM-DD of the first row, where the log says
  std::optional<double> area;       ///< cm2; not needed for an empty chamber
  Co2Per co2_per = Co2Per::moist_air;
  std::optional<CellsEqualised> equalised;     ///< empty: not known
  std::optional<std::string> cell_difference;  ///< date of the table taken from CO2s, offset_table
  Instrument instrument;
  Notes notes;

  [[nodiscard]] std::size_t size() const { return time_s.size(); }
};

/// Every row of a log, in order: 0, 1, 2, ...
std::vector<std::size_t> all_rows(const Log& log);

/// The rows of a log as a record. Time is that of log/time.hpp. Area is the log's column
/// (its median), else the instrument's.
///
/// Told in `notes`, about: "rows-without-time"; "time-repeated" and "rows-repeated" (the same time,
/// or every series as in the row before while the others move: the later row is left out);
/// "clock-back" (the clock steps back: the longest stretch between such steps is used); "gap" (an
/// interval of more than 3 usual ones, and 2 s).
/// Errors: unreadable, where CO2r, CO2s or time is missing, fewer than 10 rows are left, the clock
/// steps back so often that less than half of the rows are in one stretch, CO2r and CO2s differ
/// by a factor as two units do, or both change by one in mid-record.
Result<RampRecord> ramp_record(const Log& log, std::span<const std::size_t> rows, RecordRole role,
                               const Instrument& instrument, const std::string& name,
                               const TimeChoice& time = {});

/// The median of the values that are numbers; empty where there is none.
std::optional<double> median_of(std::span<const double> values);

/// The median interval between rows, s. The record must have two rows.
double usual_interval(const RampRecord& record);

}  // namespace leafwright
