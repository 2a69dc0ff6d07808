// The parts that every drawing of a fitted A-Ci curve shares: its points by state, the limiting
// rates and their minimum, and the words for its estimates.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "figure/chart.hpp"
#include "figure/state_style.hpp"
#include "fit/result.hpp"
#include "log/curve.hpp"

namespace leafwright {

/// "row 7 (line 12): Ci 402.1, A 18.2, rubisco". Rows are zero-based, as in the fit's `used`. A
/// value that is not finite is called "none".
std::string row_tooltip(const CurveRow& row, const std::string& what);

/// Points by state, then the rows that were not used, with their reason. A row with `use` set that
/// the fit did not take is shown as not used too.
std::vector<PointSeries> state_points(const CurveFit& fit, const Curve& curve);

/// Points of a curve without a fit; rows not used as crosses.
std::vector<PointSeries> plain_points(const Curve& curve);

/// Ci at which lines are evaluated: `count` even steps from `low` to `high` plus the transitions,
/// all > 0. Empty where the range is empty or not finite.
std::vector<double> line_grid(const CurveFit& fit, double low, double high, int count);

/// Whether a limitation may be drawn: permitted, with a finite capacity, and with an estimate that
/// is a number and not "not identified".
bool has_line(const CurveFit& fit, Limitation limitation);

/// The rate under each limitation alone (under the gm of the fit), or each side of a C4 curve. C3:
/// c3_limited_rate on the grid for each limitation with has_line, cut at the axes (dashed, thin).
std::vector<LineSeries> limiting_lines(const CurveFit& fit, const std::vector<double>& grid);

/// fitted_rate on the grid, bold: the minimum of the carboxylation rates, which is what was
/// fitted (the minimum of net rates differs below Gamma*).
LineSeries model_line(const CurveFit& fit, const std::vector<double>& grid);

/// The operating point as one mark and the supply line from the CO2 outside to it, where the fit
/// has one.
std::optional<PointSeries> operating_mark(const CurveFit& fit);
std::optional<LineSeries> supply_line(const CurveFit& fit);

/// Whether the curve covers enough of Ci for its axis to begin at 0: lowest below half the highest.
bool reaches_low(const Curve& curve);

/// Lowest and highest Ci of the used rows; empty without any.
std::optional<std::pair<double, double>> used_range(const CurveFit& fit);

/// "58.6 to 64.1", "> 58.6", "< 64.1"; "open" where neither end is bound by the data.
std::string interval_text(const std::optional<double>& low, const std::optional<double>& high);

/// What the value cell of an estimate says: "61.2", "0.9 (fixed)", "> 7.9", "not identified".
std::string value_text(const Estimate& estimate);

}  // namespace leafwright
