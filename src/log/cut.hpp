// Cutting the rows of a log into curves, and the decisions that correct their names.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"
#include "log/log.hpp"
#include "log/samples.hpp"
#include "log/time.hpp"

namespace leafwright {

enum class CutBy {
  column,     ///< a column names the curve of each row
  samples,    ///< windows of time in the samples table
  blocks,     ///< each header of the file begins a curve
  gap,        ///< a pause longer than `gap_s`
  programme,  ///< the first two set-points of CO2r come again
  remarks,    ///< a remark line, or a new text in the remark column
  file,       ///< one curve
};
const char* cut_by_name(CutBy by);  ///< "column", "samples", ...

struct CutChoice {
  /// Column that names curves; empty: curve_id where the log has it. One given must be there.
  std::optional<std::string> column = {};
  /// Empty: column, else windows of the samples table, else blocks, else gaps, else the file.
  std::optional<CutBy> by = {};
  double gap_s = 900;
  double setpoint_tolerance = 5;          ///< umol mol-1, of find_holds
  double hold_shortest_s = 20;            ///< of find_holds
  std::string remark_column = {};         ///< "": remark lines between the rows
  std::vector<std::string> renames = {};  ///< OLD=NEW
};

struct CutCurve {
  std::string curve_id;           ///< renamed where that was decided
  std::string recorded_id;        ///< as in the log; the first of several
  std::vector<std::size_t> rows;  ///< in file order
  Notes notes;
};

struct Cut {
  static constexpr std::uint32_t no_curve = std::numeric_limits<std::uint32_t>::max();
  CutBy by = CutBy::file;
  std::vector<CutCurve> curves;         ///< in order of first appearance
  std::vector<std::uint32_t> curve_of;  ///< of each row of the log
  Notes notes;                          ///< how it was cut, every renaming, rows in no curve
};

/// Cuts. The raw rows are never touched: renaming is a decision that the notes carry. Errors:
/// usage, for a way of cutting that the log does not allow (no such column, no time, no CO2r, no
/// remarks), a rename without '=' or of an id that no row has, or a window whose moments cannot be
/// read; refused, for windows that overlap.
Result<Cut> cut_log(const Log& log, const TimeAxis& axis, const Samples* samples,
                    const CutChoice& choice, const TimeChoice& time = {});

/// What a join of curves and samples leaves over: curves that the samples table does not have (with
/// the nearest id, as a rename may be due), rows of the table that this log does not have.
Notes join_notes(const Cut& cut, const Samples& samples, const std::string& log);

/// The rows at which the programme of CO2r begins anew (the first always). Used by cut_log.
std::vector<std::size_t> programme_starts(const Log& log, const TimeAxis& axis,
                                          const CutChoice& choice);

/// The settings `cut`, `gap`, `remark-column`, `rename`, `time-zone` and `utc-offset`.
SettingTable cut_settings();
/// `column` belongs to the setting `curve` of points_settings().
CutChoice cut_choice(const Settings& settings, std::optional<std::string> column = {});
/// Without the rule of `time-zone`, which whoever has zone data sets.
TimeChoice time_choice(const Settings& settings);

/// The name of a file without folder and ending: "day1" for "logs/day1.csv".
std::string file_stem(const std::string& file);

}  // namespace leafwright
