// The cell-difference table: what the sample cell reads above the reference cell when both hold the
// same air, as a function of CO2, with its date.
//
//   S - R = c0 + c1 x + c2 x^2,   x = CO2/1000
//
// Found in an empty chamber it holds the leak of the gasket too, and is then "offset + leak" of one
// flow; found from the same air in both cells it is the offset alone.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/record.hpp"

namespace leafwright {

struct OffsetTable {
  std::string source;  ///< record it was found from
  std::string date;    ///< YYYY-MM-DD
  std::array<double, 3> c = {};
  std::array<double, 9> covariance = {};  ///< of c, row by row
  double CO2_low = 0, CO2_high = 0;       ///< umol mol-1, where it was measured
  bool with_leak = true;
  double flow = 0;  ///< umol s-1, of the empty chamber; 0 for the same air in both cells

  /// What the table says at a CO2, with its standard error.
  [[nodiscard]] WithError at(double CO2) const;
  [[nodiscard]] bool covers(double CO2) const { return CO2 >= CO2_low && CO2 <= CO2_high; }
};

/// From an identified path. Errors: refused, where lag and offset are one number; usage, where
/// neither the path nor the caller knows the date.
Result<OffsetTable> offset_table(const GasPath& path, const std::string& date = "");

/// From records of the same air in both cells with CO2 standing still, one level each: a constant
/// from one level, a line from two, a parabola from three on. The standard error of a level counts
/// its noise and `drift_sd`, which a short record does not average out.
/// Errors: usage, no record or no date; unfit, CO2 that moves by more than 5 umol mol-1.
Result<OffsetTable> offset_from_same_air(const std::vector<RampRecord>& levels,
                                         double drift_sd = 0.03, const std::string& date = "");

/// Takes the table's difference from CO2s. A record remembers it.
/// Errors: refused, where a table was taken from this record already, or its cells were equalised
/// in the log after the table's date: the same thing would be corrected twice.
/// Notes in the record, about: "cell-difference" (what was done), "cell-difference-extrapolated".
Result<void> apply_offset(RampRecord& record, const OffsetTable& table);

/// What changed between two tables, on `points` evenly spaced CO2 that both cover.
struct OffsetChange {
  struct Point {
    double CO2 = 0;
    WithError change;  ///< later - earlier, umol mol-1
  };
  std::string from, to;  ///< dates
  std::vector<Point> points;
  Point largest;           ///< in standard errors
  double in_errors = 0;    ///< |change|/se there
  bool different = false;  ///< more than 3 standard errors somewhere
};
/// Errors: unfit, where they share no CO2; refused, where one holds the leak and the other not, or
/// their flows differ by more than 5 %.
Result<OffsetChange> compare_offsets(const OffsetTable& earlier, const OffsetTable& later,
                                     std::size_t points = 9);

/// The change in words: "cell-difference-changed" (warning) or "cell-difference-held" (info).
Note change_note(const OffsetChange& change);

/// Two paths identified from empty chambers, as tables, compared. Errors: those of offset_table and
/// compare_offsets.
Result<OffsetChange> offset_change(const GasPath& earlier, const GasPath& later);

/// A warning where a difference measured otherwise (the same air in both cells, another table) is
/// more than 3 standard errors and 0.1 umol mol-1 away from the table; empty where it is not.
std::optional<Note> contradiction(const OffsetTable& table, double CO2, const WithError& measured,
                                  const std::string& source);

/// The leak from "offset + leak" less the offset: K = -u d(difference)/dC, and where it vanishes
/// the CO2 round the gasket. Errors: refused, where the tables are not one of each kind; unfit,
/// where they share less than 50 umol mol-1.
Result<PathLeak> leak_between(const OffsetTable& empty, const OffsetTable& same_air);

}  // namespace leafwright
