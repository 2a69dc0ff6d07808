#include "figure/chart.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "figure/panel.hpp"
#include "figure/text.hpp"
#include "figure/text_block.hpp"

namespace leafwright {
namespace {

constexpr double margin = 5;                 // pt, around everything
constexpr double panel_gap = gap_above + 5;  // pt, between stacked panels
constexpr double heading_text = 8.5;         // pt
constexpr double legend_text = 6.5;
constexpr double entry_gap = 6;
constexpr double swatch = 16;  // pt, width of a legend's sample

struct LegendEntry {
  std::string name;
  const PointSeries* points = nullptr;
  const LineSeries* line = nullptr;
};

// A line that lies wholly outside the axes is not drawn, and so has no entry.
bool any_inside(const LineSeries& line, const Span& x, const Span& y) {
  return std::any_of(line.points.begin(), line.points.end(), [&](const Point& p) {
    return p.x >= x.low && p.x <= x.high && p.y >= y.low && p.y <= y.high;
  });
}

// Points and a line of one name share one entry: the shape sits on the dash.
std::vector<LegendEntry> legend_entries(const Chart& chart) {
  std::vector<LegendEntry> entries;
  const auto entry = [&](const std::string& name) -> LegendEntry& {
    for (LegendEntry& e : entries) {
      if (e.name == name) return e;
    }
    return entries.emplace_back(LegendEntry{name});
  };
  if (!chart.legend) return entries;
  const Span x = shared_x_span(chart.panels);
  for (const Panel& panel : chart.panels) {
    const Span y = y_span(panel);
    for (const PointSeries& s : panel.points) {
      if (!s.name.empty() && !s.marks.empty()) entry(s.name).points = &s;
    }
    for (const LineSeries& s : panel.lines) {
      if (!s.name.empty() && any_inside(s, x, y)) entry(s.name).line = &s;
    }
  }
  return entries;
}

double entry_width(const LegendEntry& e) {
  return (e.line ? swatch : 8) + 3 + text_width(e.name, legend_text) + entry_gap;
}

// Draws, or with no writer only measures; returns the height.
double draw_legend(SvgWriter* svg, const std::vector<LegendEntry>& entries, double left, double top,
                   double width) {
  if (entries.empty()) return 0;
  const double row = 1.45 * legend_text;
  double x = left;
  double y = top + row;
  for (const LegendEntry& e : entries) {
    const double w = entry_width(e);
    if (x > left && x + w - entry_gap > left + width) x = left, y += row;
    if (svg) {
      const double sample = e.line ? swatch : 8;
      const double middle = y - 0.36 * legend_text;
      if (e.line) {
        svg->line(x, middle, x + sample, middle,
                  Paint{Ink::none, e.line->ink, e.line->width, e.line->dash});
      }
      if (e.points) {
        svg->marker(e.points->shape, x + sample / 2, middle, 2.1,
                    marker_paint(e.points->shape, e.points->ink));
      }
      const double room = width - sample - 3;
      svg->text(x + sample + 3, y, shorten(e.name, room, legend_text), {legend_text});
    }
    x += w;
  }
  return y - top + 5;
}

struct Layout {
  double width = 0;  // pt, of the column that holds the panels
  double left = 0;   // pt, of the plotting areas
  double top = 0;    // pt, of the first plotting area
  double panels_end = 0;
  double block_left = 0, block_top = 0, block_width = 0;
  double height = 0;  // pt
  double legend_top = 0;
};

Layout lay_out(const Chart& chart, const std::vector<LegendEntry>& entries,
               const PanelStyle& style) {
  Layout l;
  const double total = chart.width_mm * pt_per_mm;
  const bool beside = chart.block_width_mm > 0 && !chart.block.empty();
  l.block_width = beside ? chart.block_width_mm * pt_per_mm : total - 2 * margin;
  l.width = beside ? total - l.block_width - 4 * margin : total - 2 * margin;
  for (const Panel& p : chart.panels) l.left = std::max(l.left, room_left(p, style));
  l.left += margin;
  l.legend_top = margin + (chart.heading.empty() ? 0 : 1.5 * heading_text);
  l.top = l.legend_top + draw_legend(nullptr, entries, margin, l.legend_top, l.width) + gap_above;
  l.panels_end = l.top;
  for (const Panel& p : chart.panels) l.panels_end += p.height + panel_gap;
  l.panels_end += room_below(style) - panel_gap;
  l.block_left = beside ? total - margin - l.block_width : margin;
  l.block_top = beside ? l.legend_top + 2 : l.panels_end + 6;
  const double block_end = chart.block.empty()
                               ? 0
                               : l.block_top + draw_text_block(nullptr, chart.block, l.block_left,
                                                               l.block_top, l.block_width);
  l.height = std::max(l.panels_end, block_end) + margin;
  return l;
}

std::string full_description(const Chart& chart, const Span& x) {
  std::size_t left_out = 0;
  for (const Panel& p : chart.panels) left_out += marks_left_out(p, x);
  if (left_out == 0) return chart.desc;
  return fmt::format("{}{}{} not drawn: not finite, or outside the axes.", chart.desc,
                     chart.desc.empty() ? "" : " ",
                     left_out == 1 ? "1 mark is" : fmt::format("{} marks are", left_out));
}

}  // namespace

Result<std::string> render_chart(const Chart& chart) {
  if (!(chart.width_mm >= 60 && chart.width_mm <= 400)) {
    return fail(ErrorCode::usage, fmt::format("a figure width of {} mm", chart.width_mm),
                "expected 60 to 400 mm");
  }
  if (chart.panels.empty()) return fail(ErrorCode::usage, "a chart without a panel");
  if (chart.block_width_mm > 0 && chart.width_mm - chart.block_width_mm < 45) {
    return fail(ErrorCode::usage,
                fmt::format("a text block of {} mm in a figure of {} mm", chart.block_width_mm,
                            chart.width_mm),
                "expected 45 mm or more to be left for the panels");
  }
  PanelStyle style;
  const std::vector<LegendEntry> entries = legend_entries(chart);
  const Layout l = lay_out(chart, entries, style);
  const Span x = shared_x_span(chart.panels);
  SvgWriter svg(chart.width_mm, l.height / pt_per_mm, chart.theme, chart.title,
                full_description(chart, x));
  if (!chart.heading.empty()) {
    const double room = chart.width_mm * pt_per_mm - 2 * margin;
    svg.text(margin, margin + heading_text, shorten(chart.heading, room, heading_text, true),
             {heading_text, Ink::ink, Anchor::start, true}, {}, chart.heading);
  }
  draw_legend(&svg, entries, margin, l.legend_top, l.width);
  style.left_room = l.left - margin;
  double top = l.top;
  for (std::size_t i = 0; i < chart.panels.size(); ++i) {
    const Panel& panel = chart.panels[i];
    style.x_labels = i + 1 == chart.panels.size();
    draw_panel(svg, panel, {l.left, top, margin + l.width - 4, top + panel.height}, x, style);
    top += panel.height + panel_gap;
  }
  if (!chart.block.empty()) {
    draw_text_block(&svg, chart.block, l.block_left, l.block_top, l.block_width);
  }
  return svg.finish();
}

}  // namespace leafwright
