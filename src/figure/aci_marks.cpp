#include "figure/aci_marks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <unordered_map>

#include "figure/text.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

std::string number_or_none(double value) {
  return std::isfinite(value) ? pretty_number(value) : "none";
}

Mark mark_of(const CurveRow& row, const std::string& what) {
  Mark mark;
  mark.x = row.Ci;
  mark.y = row.A;
  mark.row = row.row;
  mark.line = row.place.line;
  mark.tooltip = row_tooltip(row, what);
  return mark;
}

std::string why_unused(const CurveRow& row) {
  return row.why.empty() ? "not used" : "not used: " + row.why;
}

}  // namespace

StateStyle state_style(Limitation state) {
  switch (state) {
    case Limitation::rubisco:
      return {"Rubisco", Ink::blue, Shape::circle, Dash::dashes};
    case Limitation::rubp:
      return {"RuBP", Ink::vermillion, Shape::triangle, Dash::dash_dot};
    case Limitation::tpu:
      return {"TPU", Ink::purple, Shape::diamond, Dash::dots};
  }
  throw std::logic_error("an unknown limitation");
}

StateStyle state_style(C4State state) {
  if (state == C4State::pep) return {"PEP", Ink::blue, Shape::circle, Dash::dashes};
  return {"plateau", Ink::vermillion, Shape::triangle, Dash::dash_dot};
}

std::string row_tooltip(const CurveRow& row, const std::string& what) {
  const std::string line = row.place.line > 0 ? fmt::format(" (line {})", row.place.line) : "";
  return fmt::format("row {}{}: Ci {}, A {}, {}", row.row, line, number_or_none(row.Ci),
                     number_or_none(row.A), what);
}

std::vector<PointSeries> state_points(const CurveFit& fit, const Curve& curve) {
  std::vector<PointSeries> series;
  const auto add = [&](const StateStyle& s) { series.push_back({s.label, s.ink, s.shape, {}}); };
  if (fit.c4) {
    for (const C4State state : {C4State::pep, C4State::plateau}) add(state_style(state));
  } else {
    for (const Limitation state : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
      add(state_style(state));
    }
  }
  PointSeries unused{unused_style.label, unused_style.ink, unused_style.shape, {}};
  std::unordered_map<std::size_t, const FittedRow*> fitted_rows;
  for (const FittedRow& row : fit.rows) fitted_rows.emplace(row.row, &row);
  for (const CurveRow& row : curve.rows) {
    const auto found = fitted_rows.find(row.row);
    if (found == fitted_rows.end()) {
      unused.marks.push_back(mark_of(row, why_unused(row)));
    } else {
      const FittedRow* fitted = found->second;
      const auto index = fitted->c4 ? static_cast<std::size_t>(*fitted->c4)
                                    : static_cast<std::size_t>(fitted->state);
      series.at(index).marks.push_back(mark_of(row, row_state_name(*fitted)));
    }
  }
  series.push_back(std::move(unused));
  return series;
}

std::vector<PointSeries> plain_points(const Curve& curve) {
  PointSeries measured{plain_style.label, plain_style.ink, plain_style.shape, {}};
  PointSeries unused{unused_style.label, unused_style.ink, unused_style.shape, {}};
  for (const CurveRow& row : curve.rows) {
    if (row.use) {
      measured.marks.push_back(mark_of(row, "not fitted"));
    } else {
      unused.marks.push_back(mark_of(row, why_unused(row)));
    }
  }
  return {measured, unused};
}

std::vector<double> line_grid(const CurveFit& fit, double low, double high, int count) {
  if (!std::isfinite(low) || !std::isfinite(high) || high <= 0 || count < 2) return {};
  low = std::max(low, 1e-3 * high);  // the model asks for C > 0
  if (low >= high) return {};
  std::vector<double> grid;
  for (int i = 0; i < count; ++i) grid.push_back(low + (high - low) * i / (count - 1));
  for (const NamedTransition& t : transitions_of(fit)) {
    if (t.Ci > low && t.Ci < high) grid.push_back(t.Ci);
  }
  std::sort(grid.begin(), grid.end());
  return grid;
}

bool has_line(const CurveFit& fit, Limitation limitation) {
  const bool permitted =
      std::find(fit.permitted.begin(), fit.permitted.end(), limitation) != fit.permitted.end();
  const auto known = [](const Estimate& e, double capacity) {
    return e.value && std::isfinite(*e.value) && e.status != Status::not_identified &&
           std::isfinite(capacity);
  };
  switch (limitation) {
    case Limitation::rubisco:
      return permitted && known(fit.Vcmax, fit.leaf.Vcmax);
    case Limitation::rubp:
      return permitted && known(fit.J, fit.leaf.J);
    case Limitation::tpu:
      return permitted && known(fit.TPU, fit.leaf.TPU);
  }
  return false;
}

namespace {

LineSeries limit_line(const StateStyle& s) {
  LineSeries line;
  line.name = s.label;
  line.label = s.label;
  line.ink = s.ink;
  line.dash = s.dash;
  line.width = 0.9;
  return line;
}

std::vector<LineSeries> c4_limiting_lines(const CurveFit& fit, const std::vector<double>& grid) {
  std::vector<LineSeries> lines;
  for (const C4State state : {C4State::pep, C4State::plateau}) {
    const double capacity = state == C4State::pep ? fit.c4->Vpmax : fit.c4->top;
    if (!std::isfinite(capacity)) continue;
    LineSeries line = limit_line(state_style(state));
    for (const double C : grid) line.points.push_back({C, c4_limited_rate(*fit.c4, state, C)});
    lines.push_back(std::move(line));
  }
  return lines;
}

/// One limitation alone, under the gm of the fit.
double limited_rate(const CurveFit& fit, Limitation state, double C) {
  if (fit.gm) {
    return c3_limited_rate_gm(state, C, *fit.gm, fit.leaf, fit.kinetics, fit.electrons, fit.alpha);
  }
  return c3_limited_rate(state, C, fit.leaf, fit.kinetics, fit.electrons, fit.alpha);
}

}  // namespace

std::vector<LineSeries> limiting_lines(const CurveFit& fit, const std::vector<double>& grid) {
  if (fit.c4) return c4_limiting_lines(fit, grid);
  std::vector<LineSeries> lines;
  for (const Limitation state : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
    if (!has_line(fit, state)) continue;
    LineSeries line = limit_line(state_style(state));
    for (const double C : grid) line.points.push_back({C, limited_rate(fit, state, C)});
    lines.push_back(std::move(line));
  }
  return lines;
}

LineSeries model_line(const CurveFit& fit, const std::vector<double>& grid) {
  LineSeries line;
  line.name = "model";
  line.width = 1.5;
  line.set_range = true;
  for (const double C : grid) line.points.push_back({C, fitted_rate(fit, C)});
  return line;
}

std::optional<PointSeries> operating_mark(const CurveFit& fit) {
  if (!fit.operating || !fit.operating->Ci || !fit.operating->A) return std::nullopt;
  const OperatingPoint& p = *fit.operating;
  Mark mark;
  mark.x = *p.Ci;
  mark.y = *p.A;
  mark.tooltip = fmt::format("operating point at CO₂ {}: Ci {}, A {}", pretty_number(p.CO2),
                             pretty_number(mark.x), pretty_number(mark.y));
  if (p.limitation) mark.tooltip += ", limitation " + pretty_number(*p.limitation, 3);
  return PointSeries{operating_style.label, operating_style.ink, operating_style.shape, {mark}};
}

std::optional<LineSeries> supply_line(const CurveFit& fit) {
  if (!fit.operating || !fit.operating->Ci || !fit.operating->A) return std::nullopt;
  LineSeries line;
  line.name = "supply";
  line.label = "supply";
  line.ink = operating_style.ink;
  line.dash = operating_style.dash;
  line.width = 0.9;
  line.points = {{fit.operating->CO2, 0}, {*fit.operating->Ci, *fit.operating->A}};
  return line;
}

bool reaches_low(const Curve& curve) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const CurveRow& row : curve.rows) {
    if (!std::isfinite(row.Ci)) continue;
    low = std::min(low, row.Ci);
    high = std::max(high, row.Ci);
  }
  return low < 0.5 * high;
}

std::optional<std::pair<double, double>> used_range(const CurveFit& fit) {
  std::optional<std::pair<double, double>> range;
  for (const FittedRow& row : fit.rows) {
    if (!std::isfinite(row.Ci)) continue;
    if (!range) range = {row.Ci, row.Ci};
    range->first = std::min(range->first, row.Ci);
    range->second = std::max(range->second, row.Ci);
  }
  return range;
}

std::string interval_text(const std::optional<double>& low, const std::optional<double>& high) {
  const bool has_low = low && std::isfinite(*low);
  const bool has_high = high && std::isfinite(*high);
  if (has_low && has_high) return pretty_number(*low) + " to " + pretty_number(*high);
  if (has_low) return "> " + pretty_number(*low);
  if (has_high) return "< " + pretty_number(*high);
  return "open";
}

std::string value_text(const Estimate& e) {
  const bool has_value = e.value && std::isfinite(*e.value);
  if (e.status == Status::not_identified) return "not identified";
  if (e.status == Status::fixed && has_value) return pretty_number(*e.value) + " (fixed)";
  // A bound is shown as a bound, also where the best fit has a number for it.
  if (e.status == Status::lower_bound && e.low) return interval_text(e.low, std::nullopt);
  if (e.status == Status::upper_bound && e.high) return interval_text(std::nullopt, e.high);
  if (has_value) return pretty_number(*e.value);
  return status_name(e.status);
}

}  // namespace leafwright
