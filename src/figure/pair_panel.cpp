#include "figure/pair_panel.hpp"

#include <cmath>

#include "base/number.hpp"
#include "figure/chart.hpp"

namespace leafwright {
namespace {

void add_pass(const PairPass& pass, const CorrectedRamp& ramp, const RampPair& pair, Panel& panel) {
  PointSeries points;
  points.name = pass.up ? "way up" : "way down";
  points.ink = pass.up ? Ink::blue : Ink::vermillion;
  points.shape = pass.up ? Shape::circle : Shape::triangle;
  LineSeries before{"", points.ink, Dash::dashes, 0.6, false, "", {}};
  for (const std::size_t i : pass.rows) {
    Mark mark;
    mark.x = pair.Ci[pass.ramp][i];
    mark.y = ramp.A[i];
    mark.row = i;
    mark.tooltip =
        points.name + ", Ci " + print_rounded(mark.x, 4) + ", A " + print_rounded(mark.y, 4);
    points.marks.push_back(std::move(mark));
    before.points.push_back({ramp.Ci[i], ramp.A[i]});
  }
  if (pair.removed_s > 0) {
    before.name = points.name + ", with the lag";
    panel.lines.push_back(std::move(before));
  }
  panel.points.push_back(std::move(points));
}

Panel difference_panel(const RampPair& pair) {
  Panel panel;
  panel.x = {"Ci", "umol mol-1", {}, {}, true};
  panel.y = {"A down - up", "umol m-2 s-1", {}, {}, true};
  panel.height = 70;
  panel.zero_line = true;
  LineSeries before{"difference with the lag", Ink::muted, Dash::dashes, 0.75, true, "", {}};
  PointSeries after;
  after.name = "without it, 95 % interval";
  after.ink = Ink::ink;
  after.shape = Shape::circle;
  for (const PassDifference& d : pair.differences) {
    before.points.push_back({d.Ci, d.before});
    Mark mark;
    mark.x = d.Ci;
    mark.y = d.after;
    mark.low = d.after - 1.96 * d.se;
    mark.high = d.after + 1.96 * d.se;
    mark.tooltip = "Ci " + print_rounded(d.Ci, 4) + ": " + print_rounded(d.after, 3) + " +- " +
                   print_rounded(d.se, 2);
    after.marks.push_back(std::move(mark));
  }
  panel.lines.push_back(std::move(before));
  panel.points.push_back(std::move(after));
  return panel;
}

}  // namespace

Result<std::string> pair_panel(const std::string& name, std::span<const CorrectedRamp* const> ramps,
                               const RampPair& pair, const PairPanelOptions& options) {
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = name;
  chart.title = "Up and down ramps " + name + " of one leaf";
  chart.desc = "Own lag of the leaf " + print_rounded(pair.lag_s, 3) + " +- " +
               print_rounded(pair.lag_se, 2) + " s, " + print_rounded(pair.removed_s, 3) +
               " s taken out of Ci. Bars are 95 % intervals of the difference once one lag and one "
               "level are allowed for.";
  Panel curves;
  curves.x = {"Ci", "umol mol-1", {}, {}, true};
  curves.y = {"A", "umol m-2 s-1", {}, {}, false};
  curves.height = 140;
  curves.zero_line = true;
  for (const PairPass& pass : pair.passes) add_pass(pass, *ramps[pass.ramp], pair, curves);
  chart.panels.push_back(std::move(curves));
  chart.panels.push_back(difference_panel(pair));
  return render_chart(chart);
}

}  // namespace leafwright
