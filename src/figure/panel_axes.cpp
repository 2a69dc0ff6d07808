// What a panel's axes span and how much room they take.
#include <algorithm>
#include <cmath>

#include "figure/panel.hpp"
#include "figure/text.hpp"

namespace leafwright {
namespace {

void limit(Span& span, const Axis& axis) {
  if (axis.low && std::isfinite(*axis.low)) span.low = *axis.low;
  if (axis.high && std::isfinite(*axis.high)) span.high = *axis.high;
  if (!(span.low < span.high)) span = padded_span({span.low, span.high}, 0, false);
}

void add_mark(const Mark& mark, std::vector<double>& values) {
  if (!std::isfinite(mark.x) || !std::isfinite(mark.y)) return;
  values.push_back(mark.y);
  if (mark.low) values.push_back(*mark.low);
  if (mark.high) values.push_back(*mark.high);
}

}  // namespace

std::string axis_title(const Axis& axis) {
  return axis.unit.empty() ? axis.quantity : axis.quantity + " (" + pretty_unit(axis.unit) + ")";
}

Span shared_x_span(const std::vector<Panel>& panels) {
  std::vector<double> values;
  bool zero = false;
  for (const Panel& panel : panels) {
    zero = zero || panel.x.include_zero;
    for (const PointSeries& s : panel.points) {
      for (const Mark& m : s.marks) {
        if (std::isfinite(m.y)) values.push_back(m.x);
      }
    }
    for (const LineSeries& s : panel.lines) {
      if (!s.set_range) continue;
      for (const Point& p : s.points) values.push_back(p.x);
    }
    for (const BandSeries& s : panel.bands) {
      for (const BandPoint& p : s.points) values.push_back(p.x);
    }
  }
  Span span = padded_span(values, 0.04, zero);
  for (const Panel& panel : panels) limit(span, panel.x);
  return span;
}

Span y_span(const Panel& panel) {
  std::vector<double> values;
  for (const PointSeries& s : panel.points) {
    for (const Mark& m : s.marks) add_mark(m, values);
  }
  for (const LineSeries& s : panel.lines) {
    if (!s.set_range) continue;
    for (const Point& p : s.points) values.push_back(p.y);
  }
  for (const BandSeries& s : panel.bands) {
    for (const BandPoint& p : s.points) values.push_back(p.low), values.push_back(p.high);
  }
  Span span = padded_span(values, 0.07, panel.y.include_zero);
  limit(span, panel.y);
  return span;
}

std::vector<Tick> x_ticks(const Span& span, double length, const PanelStyle& style) {
  for (int wanted = std::max(2, static_cast<int>(length / style.x_spacing)); wanted > 1; --wanted) {
    std::vector<Tick> ticks = nice_ticks(span, wanted);
    double widest = 0;
    for (const Tick& t : ticks) widest = std::max(widest, text_width(t.label, style.tick_text));
    const double apart = ticks.size() < 2
                             ? length
                             : length * (ticks[1].value - ticks[0].value) / (span.high - span.low);
    if (apart >= widest + 4) return ticks;
  }
  return nice_ticks(span, 1);
}

std::vector<Tick> y_ticks(const Span& span, double length, const PanelStyle& style) {
  const std::size_t most = static_cast<std::size_t>(length / (style.tick_text * 1.25));
  int wanted = std::max(2, static_cast<int>(length / style.y_spacing));
  std::vector<Tick> ticks = nice_ticks(span, wanted);
  while (ticks.size() > most && wanted > 1) ticks = nice_ticks(span, --wanted);
  // One tick says nothing of the scale: a finer step, if its labels have room.
  for (int finer = wanted + 1; ticks.size() < 2 && finer < 8; ++finer) {
    std::vector<Tick> more = nice_ticks(span, finer);
    if (more.size() <= most) ticks = std::move(more);
  }
  return ticks;
}

bool y_title_above(const Panel& panel, const PanelStyle& style) {
  return text_width(axis_title(panel.y), style.label_text) > panel.height + 6;
}

double room_left(const Panel& panel, const PanelStyle& style) {
  double widest = 0;
  for (const Tick& t : y_ticks(y_span(panel), panel.height, style)) {
    widest = std::max(widest, text_width(t.label, style.tick_text));
  }
  const bool beside = style.titles && !y_title_above(panel, style);
  return widest + style.tick + 4.5 + (beside ? 1.2 * style.label_text : 0);
}

double room_below(const PanelStyle& style) {
  return style.tick + 2 + style.tick_text * 1.15 + (style.titles ? style.label_text * 1.5 : 0);
}

std::size_t marks_left_out(const Panel& panel, const Span& x) {
  const Span y = y_span(panel);
  std::size_t count = 0;
  for (const PointSeries& s : panel.points) {
    for (const Mark& m : s.marks) {
      const bool shown = m.x >= x.low && m.x <= x.high && m.y >= y.low && m.y <= y.high;
      if (!shown) ++count;
    }
  }
  return count;
}

}  // namespace leafwright
