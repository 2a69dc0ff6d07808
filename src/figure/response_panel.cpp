#include "figure/response_panel.hpp"

#include <algorithm>
#include <map>

#include "base/number.hpp"
#include "figure/chart.hpp"
#include "leaf/response.hpp"

namespace leafwright {

namespace {

struct Labels {
  Axis x, y;
};

Labels labels_of(const ResponseFit& fit) {
  Labels labels;
  const std::string unit = fit.estimates.empty() ? "" : fit.estimates.front().unit;
  if (fit.log_scale) {
    labels.x = {"Leaf temperature", "degC", {}, {}, false};
    labels.y = {fit.of, unit, {}, {}, true};
  } else if (fit.form == "electron-transport") {
    labels.x = {"Light", "umol m-2 s-1", {}, {}, true};
    labels.y = {fit.of, "umol m-2 s-1", {}, {}, true};
  } else if (fit.of == "A") {
    labels.x = {"Light", "umol m-2 s-1", {}, {}, true};
    labels.y = {"A", "umol m-2 s-1", {}, {}, false};
  } else if (fit.form == "medlyn") {
    labels.x = {"1.6 A/(ca sqrt D)", "mol m-2 s-1 kPa-0.5", {}, {}, true};
    labels.y = {"gsw - 1.6 A/ca", "mol m-2 s-1", {}, {}, true};
  } else {
    labels.x = {fit.form == "leuning" ? "A/[(cs - Gamma)(1 + D/D0)]" : "A h/cs",
                "mol m-2 s-1",
                {},
                {},
                true};
    labels.y = {"gsw", "mol m-2 s-1", {}, {}, true};
  }
  return labels;
}

PointSeries measured(const ResponseFit& fit) {
  PointSeries series{"measured", Ink::ink, Shape::circle, {}};
  for (const ResponsePoint& point : fit.points) {
    Mark mark;
    mark.x = point.x;
    mark.y = point.y;
    mark.row = point.row;
    mark.line = point.place.line;
    mark.tooltip = (point.leaf.empty() ? "" : point.leaf + ": ") + print_rounded(point.x, 4) +
                   ", " + print_rounded(point.y, 4);
    series.marks.push_back(std::move(mark));
  }
  return series;
}

/// The published responses of a capacity through the fitted value at 25 degC.
void add_published(const ResponseFit& fit, Panel& panel) {
  const auto level = std::find_if(
      fit.estimates.begin(), fit.estimates.end(),
      [&](const ResponseEstimate& estimate) { return estimate.symbol == fit.of + "25"; });
  const bool c4 = std::any_of(fit.notes.begin(), fit.notes.end(),
                              [](const Note& note) { return note.about == "published-spread-c4"; });
  if (c4 || level == fit.estimates.end() || !level->value) return;
  for (const Capacity capacity : {Capacity::Vcmax, Capacity::J, Capacity::TPU, Capacity::Rday}) {
    if (fit.of != capacity_name(capacity)) continue;
    bool first = true;
    for (const ResponseSet& set : response_sets()) {
      if (!set.of(capacity)) continue;
      LineSeries line{
          first ? "published responses" : "", Ink::muted, Dash::dots, 0.5, false, "", {}};
      for (const ResponseCurvePoint& point : fit.curve) {
        line.points.push_back({point.x, *level->value * set.of(capacity)->factor(point.x)});
      }
      panel.lines.push_back(std::move(line));
      first = false;
    }
  }
}

std::string interval_text(const ResponseEstimate& estimate) {
  const auto end = [](const std::optional<double>& value) {
    return value ? print_rounded(*value, 3) : std::string("open");
  };
  if (estimate.status == "fixed" || (!estimate.low && !estimate.high)) return estimate.status;
  return end(estimate.low) + " to " + end(estimate.high);
}

TextBlock table_of(const ResponseFit& fit) {
  TextBlock block;
  block.table.push_back({"", "value", "95 %"});
  for (const ResponseEstimate& estimate : fit.estimates) {
    block.table.push_back({estimate.symbol,
                           estimate.value ? print_rounded(*estimate.value, 4) : estimate.status,
                           interval_text(estimate)});
  }
  return block;
}

}  // namespace

Result<std::string> response_figure(const ResponseFit& fit, const ResponseFigureOptions& options) {
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = fit.group.empty() ? fit.of : fit.group + ": " + fit.of;
  chart.title = "Response of " + chart.heading;
  chart.desc = fit.equation + ", fitted to " + std::to_string(fit.points.size()) +
               " values; the band holds the curve with 95 % (linearised).";
  Panel panel;
  const Labels labels = labels_of(fit);
  panel.x = labels.x;
  panel.y = labels.y;
  panel.height = 150;
  panel.zero_line = true;
  BandSeries band{"95 % of the curve", Ink::blue, {}};
  LineSeries line{"fitted", Ink::blue, Dash::solid, 1, true, "", {}};
  for (const ResponseCurvePoint& point : fit.curve) {
    line.points.push_back({point.x, point.y});
    if (point.low && point.high) band.points.push_back({point.x, *point.low, *point.high});
  }
  if (!band.points.empty()) panel.bands.push_back(std::move(band));
  add_published(fit, panel);
  panel.lines.push_back(std::move(line));
  panel.points.push_back(measured(fit));
  chart.panels.push_back(std::move(panel));
  chart.block = table_of(fit);
  return render_chart(chart);
}

}  // namespace leafwright
