// A table of A-Ci points -> curves for the fit.
//
// Needed columns: A, Ci, and Tleaf and Patm unless given; Qin, gsw, CO2s and time are optional.
// Names are those of the open reporting format (Ely et al. 2021), exactly; units come from the
// units row or from brackets in the title and are converted; where none is stated, the format's
// unit is assumed and noted.
//
// A row that cannot be read is kept with use = false and a reason; the other rows, and the other
// curves, go on. Whether a readable row is usable (Ci <= 0) is for the fit to decide.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"
#include "log/curve.hpp"
#include "log/cut.hpp"
#include "log/screen.hpp"
#include "table/table.hpp"

namespace leafwright {

struct PointsOptions {
  /// Column that groups rows. Empty: `curve_id` if the table has it, else the file is cut as `cut`
  /// says. A column given here must be there.
  std::optional<std::string> curve_column;
  std::vector<std::string> only;           ///< COLUMN=VALUE, see select_rows
  std::optional<std::string> rday_column;  ///< umol m-2 s-1, constant within a curve
  /// Standard deviation of A of each row, umol m-2 s-1, above 0 in every used row.
  std::optional<std::string> sd_column = {};
  /// Text, constant within a curve: into CurveRow::group.
  std::optional<std::string> group_column = {};
  /// Each row stands for itself: Rday may differ within a curve, and a file without a column that
  /// names curves is taken whole, however it could be cut.
  bool by_row = false;
  std::optional<double> tleaf;  ///< degC for all rows, in place of the column
  std::optional<double> patm;   ///< kPa for all rows, in place of the column
  CutChoice cut = {};           ///< its `column` is not looked at
  TimeChoice time = {};
  std::optional<ScreenChoice> screen = {};  ///< empty: rows are taken as they are
};

/// A curve that gives no points. FailedCurve of the fit says the same of fits.
struct UnreadCurve {
  std::string curve_id;
  std::string why;
};

struct Points {
  std::vector<Curve> curves;        ///< in order of first appearance; each has a readable row
  std::vector<UnreadCurve> failed;  ///< in order of first appearance
  Notes notes;                      ///< about the file as a whole, the table's own included
  std::vector<Error> problems;      ///< with their places: the table's, then unreadable cells
};

/// Cuts curves. `use` (1, 0, true, false) is honoured; any other text in it fails the curve, with
/// its place. Errors: usage, for options that do not fit the table (unknown column, no row chosen);
/// unreadable, for a needed column that is not there or has a unit of another dimension.
Result<Points> cut_points(const Table& table, const PointsOptions& options = {});

/// The settings `curve`, `only`, `tleaf` and `patm`.
SettingTable points_settings();

/// Options from settings; `rday_column` and `sd_column` belong to the fit (fit_columns, fit.hpp).
PointsOptions points_options(const Settings& settings, std::optional<std::string> rday_column = {},
                             std::optional<std::string> sd_column = {});

}  // namespace leafwright
