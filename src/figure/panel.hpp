// Draws one panel of a chart into a rectangle of a figure: used by render_chart and by the contact
// sheet, so that a thumbnail and a full figure are the same drawing in two sizes.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "figure/chart.hpp"
#include "figure/labels.hpp"
#include "figure/ticks.hpp"

namespace leafwright {

/// Sizes of a panel's parts, in pt.
struct PanelStyle {
  double tick_text = 6.5;
  double label_text = 7;
  double marker = 2.1;    ///< radius
  double tick = 2.5;      ///< length
  double x_spacing = 42;  ///< wanted distance between ticks
  double y_spacing = 26;
  bool x_labels = true;  ///< tick labels and title under the panel
  bool titles = true;    ///< axis titles
  bool labels = true;    ///< direct labels
  double left_room = 0;  ///< kept left of the area; 0: what this panel needs (room_left)
};

/// Free room above a plotting area, pt: for an axis title or the labels of lines that end there.
inline constexpr double gap_above = 10;

/// From data to pt.
struct Scale {
  Span span;
  double from = 0, to = 1;  ///< pt at span.low and span.high
  [[nodiscard]] double at(double value) const {
    return from + (value - span.low) / (span.high - span.low) * (to - from);
  }
  [[nodiscard]] bool holds(double value) const { return value >= span.low && value <= span.high; }
};

/// What the x axis of several panels must span together, and what one panel's y axis must span.
Span shared_x_span(const std::vector<Panel>& panels);
Span y_span(const Panel& panel);

/// Ticks whose labels keep clear of each other over `length` pt.
std::vector<Tick> x_ticks(const Span& span, double length, const PanelStyle& style);
std::vector<Tick> y_ticks(const Span& span, double length, const PanelStyle& style);

/// Whether the y axis title is too long to stand beside the panel, and so is written above it.
bool y_title_above(const Panel& panel, const PanelStyle& style);

/// Room that tick labels and titles need left of and below the plotting area, pt.
double room_left(const Panel& panel, const PanelStyle& style);
double room_below(const PanelStyle& style);

/// How many marks of the panel cannot be drawn: not finite, or outside given axis limits.
std::size_t marks_left_out(const Panel& panel, const Span& x);

/// Draws axes, bands, verticals, lines, points and labels; `area` is the plotting area.
void draw_panel(SvgWriter& svg, const Panel& panel, const Box& area, const Span& x,
                const PanelStyle& style);

/// "quantity (unit)".
std::string axis_title(const Axis& axis);

}  // namespace leafwright
