// One description of a chart, drawn by one function. A chart is a column of panels that share
// their x axis, a legend, and a block of text; every mark can carry the row it came from.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "figure/svg.hpp"

namespace leafwright {

/// Labelled "quantity (unit)". `unit` as in CSV ("umol m-2 s-1"); limits that are not given follow
/// the data, with a small margin.
struct Axis {
  std::string quantity;
  std::string unit;
  std::optional<double> low, high;
  bool include_zero = false;
};

/// One data point. `row` and `line` become data-row and data-line (line 0: not known), `tooltip` an
/// inner <title>. `low`, `high` draw an error bar; the chart's description must say what it means.
struct Mark {
  double x = 0, y = 0;
  std::optional<double> low, high;
  std::optional<std::size_t> row;
  std::size_t line = 0;
  std::string tooltip;
};

struct PointSeries {
  std::string name;  ///< in the legend; "" keeps it out
  Ink ink = Ink::ink;
  Shape shape = Shape::circle;
  std::vector<Mark> marks;
};

struct Point {
  double x = 0, y = 0;
};

/// A line through `points`; a point that is not finite breaks it. Lines that do not `set_range` are
/// cut at the panel's edge instead of widening the axes. `label` is written beside the line where
/// room can be found; it never replaces the legend.
struct LineSeries {
  std::string name;
  Ink ink = Ink::ink;
  Dash dash = Dash::solid;
  double width = 0.75;
  bool set_range = false;
  std::string label;
  std::vector<Point> points;
};

struct BandPoint {
  double x = 0, low = 0, high = 0;
};
struct BandSeries {
  std::string name;
  Ink ink = Ink::ink;
  std::vector<BandPoint> points;
};

/// A thin line over the panel's height with a label where room can be found and a tooltip anyway.
struct VerticalMarker {
  double x = 0;
  std::string label;
  std::string tooltip;
};

/// Text at a place in data units.
struct Annotation {
  double x = 0, y = 0;
  std::string text;
};

struct Panel {
  Axis x, y;
  double height = 120;     ///< pt, of the plotting area
  bool zero_line = false;  ///< a thin line at y = 0 where the axis reaches it
  std::string empty_text;  ///< shown where no mark could be drawn
  std::vector<BandSeries> bands;
  std::vector<VerticalMarker> verticals;
  std::vector<LineSeries> lines;
  std::vector<PointSeries> points;
  std::vector<Annotation> annotations;
};

/// A small table and paragraphs beside (wide figures) or below the panels.
struct TextBlock {
  std::vector<std::vector<std::string>> table;  ///< the first row is the head
  std::vector<std::string> paragraphs;
  [[nodiscard]] bool empty() const { return table.empty() && paragraphs.empty(); }
};

struct Chart {
  double width_mm = 85;
  Theme theme = Theme::light;
  std::string heading;  ///< shown above the panels
  std::string title;    ///< the short text alternative
  std::string desc;     ///< the long one: what is shown, the main finding
  std::vector<Panel> panels;
  bool legend = true;
  TextBlock block;
  double block_width_mm = 0;  ///< > 0: the block stands to the right, else below
};

/// The figure as SVG. Marks without finite coordinates, or outside given axis limits, cannot be
/// drawn; how many is added to the description. The height follows from the content.
/// Errors: usage, for a width outside 60..400 mm, no panel, or a text block that leaves less than
/// 45 mm to the panels.
Result<std::string> render_chart(const Chart& chart);

/// The widths a figure is usually asked for, mm: one, one and a half, and two columns of a journal.
inline constexpr double figure_widths_mm[] = {85, 120, 180};

}  // namespace leafwright
