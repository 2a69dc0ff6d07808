#include "figure/path_panel.hpp"

#include <fmt/format.h>

#include "base/number.hpp"
#include "figure/chart.hpp"

namespace leafwright {

namespace {

constexpr const char* mole_fraction = "umol mol-1";

Panel time_panel(const char* quantity, double height) {
  Panel panel;
  panel.x = {"Time", "s", {}, {}, false};
  panel.y = {quantity, mole_fraction, {}, {}, false};
  panel.height = height;
  return panel;
}

LineSeries line(const char* name, Ink ink, Dash dash, const std::vector<double>& x,
                const std::vector<double>& y) {
  LineSeries out;
  out.name = name;
  out.ink = ink;
  out.dash = dash;
  out.set_range = true;
  for (std::size_t i = 0; i < x.size(); ++i) out.points.push_back({x[i], y[i]});
  return out;
}

PointSeries points(const char* name, Ink ink, const PathTrace& trace, const std::vector<double>& y,
                   const char* what) {
  PointSeries out;
  out.name = name;
  out.ink = ink;
  for (std::size_t i = 0; i < trace.time_s.size(); ++i) {
    Mark mark;
    mark.x = trace.time_s[i];
    mark.y = y[i];
    mark.row = trace.rows[i];
    mark.tooltip = fmt::format("{} s: {} {} {}", print_rounded(mark.x, 6), what,
                               print_rounded(mark.y, 3), mole_fraction);
    out.marks.push_back(std::move(mark));
  }
  return out;
}

std::string lag_text(const GasPath& path) {
  if (!path.lag_s) return "lag not told";
  return "lag " + print_rounded(path.lag_s->value, 4) + " ± " + print_rounded(path.lag_s->se, 2) +
         " s";
}

}  // namespace

Result<std::string> path_panel(const GasPath& path, std::size_t trace, const std::string& verdict,
                               const PathPanelOptions& options) {
  if (trace >= path.traces.size()) {
    return fail(ErrorCode::usage, "this path has no record to draw",
                "a path identified in this call; one read from a file holds no rows");
  }
  const PathTrace& shown = path.traces[trace];
  std::vector<double> residuals;
  for (std::size_t i = 0; i < shown.offset.size(); ++i) {
    residuals.push_back(shown.difference[i] - shown.offset[i]);
  }
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = shown.record;
  chart.title = "Gas path of " + shown.record;
  chart.desc =
      "CO₂ of the reference over time, the sample's less the matched reference's with the "
      "fitted offset, and residuals; " +
      lag_text(path) + ". " + verdict;
  Panel programme = time_panel("CO₂", 90);
  programme.lines = {
      line("reference", Ink::ink, Dash::solid, shown.time_s, shown.CO2r),
      line("reference through the path", Ink::blue, Dash::dashes, shown.time_s, shown.matched)};
  Panel differential = time_panel("Sample less matched reference", 110);
  differential.points = {points("row", Ink::muted, shown, shown.difference, "difference")};
  differential.lines = {line("fitted offset", Ink::blue, Dash::solid, shown.time_s, shown.offset)};
  Panel rest = time_panel("Residual", 60);
  rest.zero_line = true;
  rest.points = {points("", Ink::muted, shown, residuals, "residual")};
  chart.panels = {programme, differential, rest};
  chart.block.paragraphs = {verdict};
  return render_chart(chart);
}

}  // namespace leafwright
