#include "figure/ramp_panel.hpp"

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "figure/chart.hpp"

namespace leafwright {
namespace {

bool drawable(const CorrectedRamp& ramp, std::size_t i) {
  return std::isfinite(ramp.A[i]) && std::isfinite(ramp.Ci[i]) && ramp.Ci[i] > 0;
}

PointSeries points_of(const CorrectedRamp& ramp, bool kept) {
  PointSeries series;
  series.name = kept ? "corrected" : "left out at the ends";
  series.ink = kept ? Ink::blue : Ink::muted;
  series.shape = kept ? Shape::circle : Shape::cross;
  for (std::size_t i = 0; i < ramp.A.size(); ++i) {
    if ((ramp.use[i] != 0) != kept || !drawable(ramp, i)) continue;
    Mark mark;
    mark.x = ramp.Ci[i];
    mark.y = ramp.A[i];
    mark.row = i;
    mark.tooltip = "Ci " + print_rounded(mark.x, 4) + ", A " + print_rounded(mark.y, 4) +
                   (kept ? "" : ": " + ramp.why[i]);
    series.marks.push_back(std::move(mark));
  }
  return series;
}

/// The window that the corrected rows fill: a ramp without correction may leave it by far.
void set_limits(const PointSeries& kept, Panel& panel) {
  if (kept.marks.empty()) return;
  double low = kept.marks.front().y, high = low, right = kept.marks.front().x;
  for (const Mark& mark : kept.marks) {
    low = std::min(low, mark.y);
    high = std::max(high, mark.y);
    right = std::max(right, mark.x);
  }
  const double room = 0.35 * std::max(high - low, 1.0);
  panel.y.low = std::min(low - room, 0.0);
  panel.y.high = high + room;
  panel.x.low = 0;
  panel.x.high = 1.05 * right;
}

}  // namespace

Result<std::string> ramp_panel(const std::string& name, const CorrectedRamp& ramp,
                               const CorrectedRamp* plain, const RampPanelOptions& options) {
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = name;
  chart.title = "Ramp " + name + ", with and without its correction";
  chart.desc = std::to_string(ramp.kept()) + " of " + counted(ramp.A.size(), "row") +
               " give points, correction " + correction_name(ramp.used.method) + ".";
  Panel panel;
  panel.x = {"Ci", "umol mol-1", {}, {}, true};
  panel.y = {"A", "umol m-2 s-1", {}, {}, false};
  panel.height = 140;
  panel.zero_line = true;
  PointSeries kept = points_of(ramp, true);
  set_limits(kept, panel);
  if (plain != nullptr) {
    LineSeries line{"without any correction", Ink::vermillion, Dash::dashes, 0.9, false, "", {}};
    for (std::size_t i = 0; i < plain->A.size(); ++i) {
      if (drawable(*plain, i)) line.points.push_back({plain->Ci[i], plain->A[i]});
    }
    panel.lines.push_back(std::move(line));
  }
  PointSeries ends = points_of(ramp, false);
  if (!ends.marks.empty()) panel.points.push_back(std::move(ends));
  panel.points.push_back(std::move(kept));
  chart.panels.push_back(std::move(panel));
  return render_chart(chart);
}

}  // namespace leafwright
