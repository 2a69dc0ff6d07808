// Curves of two methods and their difference along Ci.
#include "figure/agree_figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "base/number.hpp"
#include "figure/chart.hpp"

namespace leafwright {
namespace {

constexpr const char* rate_unit = "umol m-2 s-1";
constexpr const char* ci_unit = "umol mol-1";

LineSeries line_of(const std::vector<double>& Ci, const std::vector<double>& values) {
  LineSeries line;
  line.set_range = true;
  for (std::size_t k = 0; k < Ci.size(); ++k) line.points.push_back({Ci[k], values[k]});
  return line;
}

BandSeries band_of(const std::vector<double>& Ci, const std::vector<double>& low,
                   const std::vector<double>& high, Ink ink, std::string name) {
  BandSeries band;
  band.name = std::move(name);
  band.ink = ink;
  for (std::size_t k = 0; k < low.size(); ++k) band.points.push_back({Ci[k], low[k], high[k]});
  return band;
}

std::string difference_title(const AgreementInput& input) {
  return fmt::format("A {} - {}", input.methods[0], input.methods[1]);
}

void add_margin(Panel& panel, const AgreementRules& rules, double low, double high) {
  if (!rules.margin_A) return;
  for (const double sign : {-1.0, 1.0}) {
    LineSeries line;
    line.name = "stated margin";
    line.ink = Ink::green;
    line.dash = Dash::dashes;
    line.set_range = true;
    line.points = {{low, sign * *rules.margin_A}, {high, sign * *rules.margin_A}};
    panel.lines.push_back(std::move(line));
  }
}

PointSeries rows_of(const MethodCurve& curve, const std::string& name, Ink ink, Shape shape) {
  PointSeries series{name, ink, shape, {}};
  for (std::size_t i = 0; i < curve.points.size(); ++i) {
    Mark mark;
    mark.x = curve.points[i].Ci;
    mark.y = curve.points[i].A;
    mark.row = curve.rows[i];
    mark.tooltip = fmt::format("{} row {}: Ci {}, A {}", name, curve.rows[i],
                               print_rounded(mark.x, 5), print_rounded(mark.y, 4));
    series.marks.push_back(std::move(mark));
  }
  return series;
}

/// Few rows among hundreds are found by the line that joins them.
void join_sparse(const PointSeries& series, Panel& panel) {
  constexpr std::size_t few = 40;
  if (series.marks.size() > few) return;
  LineSeries line;
  line.name = series.name;
  line.ink = series.ink;
  line.dash = Dash::dashes;
  for (const Mark& mark : series.marks) line.points.push_back({mark.x, mark.y});
  std::sort(line.points.begin(), line.points.end(),
            [](const Point& a, const Point& b) { return a.x < b.x; });
  panel.lines.push_back(std::move(line));
}

}  // namespace

Result<std::string> difference_figure(const AgreementInput& input, const AgreementResult& result,
                                      const AgreementRules& rules,
                                      const AgreeFigureOptions& options) {
  const CurveLevel& c = result.curves;
  Panel panel;
  panel.x = {"Ci", ci_unit, {}, {}, false};
  panel.y = {difference_title(input), rate_unit, {}, {}, true};
  panel.height = 150;
  panel.zero_line = true;
  double low = 1e300, high = -1e300;
  for (const LeafDifference& leaf : c.leaves) {
    if (leaf.Ci.empty()) continue;
    LineSeries line = line_of(leaf.Ci, leaf.difference);
    line.name = "a leaf";
    line.ink = Ink::muted;
    line.width = 0.5;
    panel.lines.push_back(std::move(line));
    low = std::min(low, leaf.Ci.front());
    high = std::max(high, leaf.Ci.back());
  }
  if (panel.lines.empty()) {
    return fail(ErrorCode::usage, "no leaf has a difference of A to draw",
                "rows by both methods that overlap in Ci");
  }
  add_margin(panel, rules, low, high);
  if (!c.Ci.empty()) {
    LineSeries mean = line_of(c.Ci, c.mean);
    mean.name = "mean";
    mean.ink = Ink::vermillion;
    mean.width = 1.5;
    panel.lines.push_back(std::move(mean));
  }
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.title =
      fmt::format("Difference of A, {} minus {}, along Ci", input.methods[0], input.methods[1]);
  if (c.band) {
    panel.bands.push_back(
        band_of(c.Ci, c.band->low, c.band->high, Ink::vermillion, "simultaneous band of the mean"));
    chart.block.paragraphs.push_back(
        fmt::format("Band: the whole mean curve lies inside with {} % (from {} units, {} "
                    "resamples).",
                    print_rounded(100 * rules.level, 3), c.units, c.band->resamples));
  }
  chart.block.paragraphs.push_back("Verdict: " + c.verdict + ".");
  chart.desc = c.verdict + ".";
  chart.panels.push_back(std::move(panel));
  return render_chart(chart);
}

Result<std::string> leaf_figure(const AgreementInput& input, const AgreementResult& result,
                                std::size_t pair, const AgreeFigureOptions& options) {
  if (pair >= input.pairs.size()) throw std::logic_error("no such pair of curves");
  const LeafPair& leaf = input.pairs[pair];
  Panel curves;
  curves.x = {"Ci", ci_unit, {}, {}, false};
  curves.y = {"A", rate_unit, {}, {}, false};
  curves.height = 130;
  curves.zero_line = true;
  curves.empty_text = "rows are not known";
  curves.points.push_back(rows_of(leaf.curve[0], input.methods[0], Ink::blue, Shape::circle));
  curves.points.push_back(
      rows_of(leaf.curve[1], input.methods[1], Ink::vermillion, Shape::triangle));
  // A dense curve would hide the other: the one with fewer rows is drawn last.
  if (leaf.curve[1].points.size() > leaf.curve[0].points.size()) {
    std::swap(curves.points[0], curves.points[1]);
  }
  for (const PointSeries& series : curves.points) join_sparse(series, curves);
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = leaf.plant.empty() ? leaf.leaf : leaf.leaf + " (" + leaf.plant + ")";
  chart.title = "Curves of leaf " + leaf.leaf + " by two methods";
  chart.desc = fmt::format("A against Ci of leaf {}: {} rows by {}, {} by {}.", leaf.leaf,
                           leaf.curve[0].points.size(), input.methods[0],
                           leaf.curve[1].points.size(), input.methods[1]);
  if (!leaf.excluded.empty()) chart.block.paragraphs.push_back("Left out: " + leaf.excluded + ".");
  chart.panels.push_back(std::move(curves));
  for (const LeafDifference& d : result.curves.leaves) {
    if (d.pair != pair) continue;
    if (d.Ci.empty()) {
      chart.block.paragraphs.push_back("No difference: " + d.why_not + ".");
      continue;
    }
    Panel below;
    below.x = chart.panels[0].x;
    below.y = {"difference", rate_unit, {}, {}, true};
    below.height = 60;
    below.zero_line = true;
    LineSeries line = line_of(d.Ci, d.difference);
    line.name = difference_title(input);
    line.width = 1;
    below.lines.push_back(std::move(line));
    if (!d.low.empty()) {
      below.bands.push_back(band_of(d.Ci, d.low, d.high, Ink::ink, "band of the rows' noise"));
      chart.block.paragraphs.push_back(
          "Grey: simultaneous band of the rows' noise about their fits, taken as independent.");
    }
    chart.panels.push_back(std::move(below));
  }
  return render_chart(chart);
}

}  // namespace leafwright
