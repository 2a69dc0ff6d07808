#include "figure/panel.hpp"

#include <algorithm>
#include <cmath>

#include "figure/text.hpp"

namespace leafwright {
namespace {

using Segment = std::pair<Point, Point>;

// Liang & Barsky 1984: the part of a segment inside a box.
std::optional<Segment> clip(const Point& a, const Point& b, const Box& box) {
  const double dx = b.x - a.x;
  const double dy = b.y - a.y;
  double t0 = 0;
  double t1 = 1;
  const double p[] = {-dx, dx, -dy, dy};
  const double q[] = {a.x - box.left, box.right - a.x, a.y - box.top, box.bottom - a.y};
  for (std::size_t i = 0; i < 4; ++i) {
    if (p[i] == 0) {
      if (q[i] < 0) return std::nullopt;
      continue;
    }
    const double t = q[i] / p[i];
    if (p[i] < 0) t0 = std::max(t0, t);
    if (p[i] > 0) t1 = std::min(t1, t);
  }
  if (!(t0 < t1)) return std::nullopt;
  const auto along = [&](double t) {
    return Point{std::clamp(a.x + t * dx, box.left, box.right),
                 std::clamp(a.y + t * dy, box.top, box.bottom)};
  };
  return Segment{along(t0), along(t1)};
}

// One panel while it is being drawn.
class PanelDrawing {
 public:
  PanelDrawing(SvgWriter& svg, const Panel& panel, const Box& area, const Span& x,
               const PanelStyle& style)
      : svg_(svg),
        panel_(panel),
        area_(area),
        style_(style),
        x_{x, area.left, area.right},
        y_{y_span(panel), area.bottom, area.top} {
    double count = 0;
    for (const PointSeries& s : panel.points) count += static_cast<double>(s.marks.size());
    dense_ = count * 2 * style.marker > area.width();
  }

  void draw() {
    axes();
    for (const BandSeries& s : panel_.bands) band(s);
    verticals();
    // Hundreds of points of a ramp would hide the lines, so there the lines come on top.
    if (!dense_) lines();
    for (const PointSeries& s : panel_.points) points(s);
    if (dense_) lines();
    if (!any_mark_ && !panel_.empty_text.empty()) empty_text();
    if (style_.labels) labels();
  }

 private:
  struct Label {
    std::string text;
    std::vector<Box> candidates;
  };

  [[nodiscard]] Point place(double x, double y) const { return {x_.at(x), y_.at(y)}; }
  void axes();
  void band(const BandSeries& series);
  void verticals();
  void lines() {
    for (const LineSeries& s : panel_.lines) line(s);
  }
  void line(const LineSeries& series);
  void points(const PointSeries& series);
  void error_bar(const Mark& mark, double x);
  void empty_text();
  void labels();
  [[nodiscard]] std::vector<Segment> visible(const std::vector<Point>& points) const;
  [[nodiscard]] Box text_box(const std::string& text, double left, double top) const;
  void vertical_label(const VerticalMarker& marker, std::vector<Label>& into) const;
  void line_label(const LineSeries& series, std::vector<Label>& into) const;
  void annotation_label(const Annotation& note, std::vector<Label>& into) const;
  void obstacle(const Box& box, double weight) { obstacles_.push_back({box, weight}); }

  SvgWriter& svg_;
  const Panel& panel_;
  Box area_;
  PanelStyle style_;
  Scale x_, y_;
  std::vector<Obstacle> obstacles_;
  bool any_mark_ = false;
  bool dense_ = false;  // the markers side by side would be wider than the panel
};

void PanelDrawing::axes() {
  const Paint paint{Ink::none, Ink::ink, 0.5};
  const std::vector<Tick> xs = x_ticks(x_.span, area_.width(), style_);
  const std::vector<Tick> ys = y_ticks(y_.span, area_.height(), style_);
  PathData d;
  d.move(area_.left, area_.top).line(area_.left, area_.bottom).line(area_.right, area_.bottom);
  for (const Tick& t : xs) {
    d.move(x_.at(t.value), area_.bottom).line(x_.at(t.value), area_.bottom + style_.tick);
  }
  for (const Tick& t : ys) {
    d.move(area_.left, y_.at(t.value)).line(area_.left - style_.tick, y_.at(t.value));
  }
  svg_.path(d, paint);
  if (panel_.zero_line && y_.span.low < 0 && y_.span.high > 0) {
    svg_.line(area_.left, y_.at(0), area_.right, y_.at(0), Paint{Ink::none, Ink::muted, 0.5});
  }
  const double size = style_.tick_text;
  for (const Tick& t : ys) {
    svg_.text(area_.left - style_.tick - 1.5, y_.at(t.value) + 0.36 * size, t.label,
              {size, Ink::ink, Anchor::end});
  }
  if (style_.titles) {
    const std::string title = axis_title(panel_.y);
    const double room = style_.left_room > 0 ? style_.left_room : room_left(panel_, style_);
    if (y_title_above(panel_, style_)) {
      svg_.text(area_.left, area_.top - 3, title, {style_.label_text});
    } else {
      svg_.text(area_.left - room + style_.label_text, (area_.top + area_.bottom) / 2, title,
                {style_.label_text, Ink::ink, Anchor::middle, false, true});
    }
  }
  if (!style_.x_labels) return;
  const double base = area_.bottom + style_.tick + 1.5 + 0.8 * size;
  for (const Tick& t : xs) {
    // A label at the very end is nudged in, so that it cannot leave the figure.
    const double half = text_width(t.label, size) / 2;
    const double x = std::min(x_.at(t.value), std::max(area_.left + half, area_.right + 6 - half));
    svg_.text(x, base, t.label, {size, Ink::ink, Anchor::middle});
  }
  if (style_.titles) {
    svg_.text((area_.left + area_.right) / 2, base + 1.5 * style_.label_text, axis_title(panel_.x),
              {style_.label_text, Ink::ink, Anchor::middle});
  }
}

void PanelDrawing::band(const BandSeries& series) {
  // The outline is clamped, not cut, which is the same for a band drawn as narrow slices.
  std::vector<Point> upper;
  std::vector<Point> lower;
  for (const BandPoint& p : series.points) {
    if (!std::isfinite(p.x) || !x_.holds(p.x)) continue;
    if (!std::isfinite(p.low) || !std::isfinite(p.high)) continue;
    const auto y = [&](double v) { return std::clamp(y_.at(v), area_.top, area_.bottom); };
    upper.push_back({x_.at(p.x), y(p.high)});
    lower.push_back({x_.at(p.x), y(p.low)});
  }
  if (upper.size() < 2) return;
  PathData d;
  d.move(upper.front().x, upper.front().y);
  for (std::size_t i = 1; i < upper.size(); ++i) d.line(upper[i].x, upper[i].y);
  for (std::size_t i = lower.size(); i-- > 0;) d.line(lower[i].x, lower[i].y);
  svg_.path(d.close(), Paint{series.ink, Ink::none, 0.5, Dash::solid, 0.2}, {}, series.name);
  any_mark_ = true;
}

void PanelDrawing::verticals() {
  for (const VerticalMarker& v : panel_.verticals) {
    if (!std::isfinite(v.x) || !x_.holds(v.x)) continue;
    const double x = x_.at(v.x);
    svg_.line(x, area_.top, x, area_.bottom, Paint{Ink::none, Ink::muted, 0.5, Dash::short_dashes},
              {}, v.tooltip);
    obstacle({x - 0.5, area_.top, x + 0.5, area_.bottom}, 1);
  }
}

std::vector<Segment> PanelDrawing::visible(const std::vector<Point>& points) const {
  std::vector<Segment> segments;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const Point a = place(points[i - 1].x, points[i - 1].y);
    const Point b = place(points[i].x, points[i].y);
    if (!std::isfinite(a.x + a.y) || !std::isfinite(b.x + b.y)) continue;
    if (const auto piece = clip(a, b, area_)) segments.push_back(*piece);
  }
  return segments;
}

void PanelDrawing::line(const LineSeries& series) {
  PathData d;
  std::optional<Point> last;
  for (const auto& [a, b] : visible(series.points)) {
    if (!last || std::hypot(last->x - a.x, last->y - a.y) > 1e-6) d.move(a.x, a.y);
    d.line(b.x, b.y);
    last = b;
    const int pieces = 1 + static_cast<int>(std::hypot(b.x - a.x, b.y - a.y) / 3);
    for (int k = 0; k < pieces; ++k) {
      const double t = (k + 0.5) / pieces;
      const double x = a.x + t * (b.x - a.x);
      const double y = a.y + t * (b.y - a.y);
      obstacle({x - 1, y - 1, x + 1, y + 1}, 2);
    }
  }
  if (d.empty()) return;
  any_mark_ = true;
  if (dense_ && series.width > 0.8) {  // set off from the points below
    svg_.path(d, Paint{Ink::none, Ink::paper, series.width + 1.4});
  }
  svg_.path(d, Paint{Ink::none, series.ink, series.width, series.dash}, {}, series.name);
}

void PanelDrawing::error_bar(const Mark& mark, double x) {
  if (!mark.low || !mark.high || !std::isfinite(*mark.low + *mark.high)) return;
  const auto y = [&](double v) { return std::clamp(y_.at(v), area_.top, area_.bottom); };
  svg_.line(x, y(*mark.low), x, y(*mark.high), Paint{Ink::none, Ink::ink, 0.5});
  obstacle({x - 0.5, y(*mark.high), x + 0.5, y(*mark.low)}, 1);
}

void PanelDrawing::points(const PointSeries& series) {
  const auto drawn = [&](const Mark& m) {
    return std::isfinite(m.x) && std::isfinite(m.y) && x_.holds(m.x) && y_.holds(m.y);
  };
  if (std::none_of(series.marks.begin(), series.marks.end(), drawn)) return;
  any_mark_ = true;
  for (const Mark& m : series.marks) {
    if (drawn(m)) error_bar(m, x_.at(m.x));
  }
  Paint paint = marker_paint(series.shape, series.ink);
  const bool small = dense_ && paint.fill != Ink::none;  // crosses stay easy to see
  const double radius = small ? 0.55 * style_.marker : style_.marker;
  if (small) paint.stroke = Ink::none;
  svg_.open_group(paint);
  for (const Mark& m : series.marks) {
    if (!drawn(m)) continue;
    const Point p = place(m.x, m.y);
    Attributes attributes;
    if (m.row) attributes.emplace_back("data-row", std::to_string(*m.row));
    if (m.line > 0) attributes.emplace_back("data-line", std::to_string(m.line));
    svg_.marker(series.shape, p.x, p.y, radius, std::nullopt, attributes, m.tooltip);
    const double r = 1.4 * radius;
    obstacle({p.x - r, p.y - r, p.x + r, p.y + r}, 3);
  }
  svg_.close_group();
}

void PanelDrawing::empty_text() {
  const double size = style_.tick_text;
  double y = (area_.top + area_.bottom) / 2;
  for (const std::string& text : wrap(panel_.empty_text, area_.width() - 6, size)) {
    if (y + 2 > area_.bottom) break;
    svg_.text((area_.left + area_.right) / 2, y, text, {size, Ink::muted, Anchor::middle});
    y += 1.3 * size;
  }
}

Box PanelDrawing::text_box(const std::string& text, double left, double top) const {
  const double size = style_.tick_text;
  return {left, top, left + text_width(text, size), top + 1.15 * size};
}

void PanelDrawing::vertical_label(const VerticalMarker& marker, std::vector<Label>& into) const {
  if (marker.label.empty() || !std::isfinite(marker.x) || !x_.holds(marker.x)) return;
  const double x = x_.at(marker.x);
  const double width = text_width(marker.label, style_.tick_text);
  const double row = 1.3 * style_.tick_text;
  Label label{marker.label, {}};
  for (int k = 0; k < 4; ++k) {
    for (const double top : {area_.bottom - (k + 1) * row - 1, area_.top + k * row + 1}) {
      label.candidates.push_back(text_box(marker.label, x + 2.5, top));
      label.candidates.push_back(text_box(marker.label, x - 2.5 - width, top));
    }
  }
  into.push_back(std::move(label));
}

void PanelDrawing::line_label(const LineSeries& series, std::vector<Label>& into) const {
  const std::vector<Segment> segments = visible(series.points);
  if (series.label.empty() || segments.empty()) return;
  const double width = text_width(series.label, style_.tick_text);
  const double height = 1.15 * style_.tick_text;
  Label label{series.label, {}};
  for (int k = 20; k >= 1; --k) {
    const std::size_t i = (segments.size() - 1) * static_cast<std::size_t>(k) / 20;
    const Point p = segments[i].second;
    // Ends of lines take the label beside them; elsewhere it sits above or below.
    for (const double left : {p.x - width / 2, p.x - width - 2, p.x + 3}) {
      label.candidates.push_back(text_box(series.label, left, p.y - height - 2));
      label.candidates.push_back(text_box(series.label, left, p.y + 2));
    }
  }
  into.push_back(std::move(label));
}

void PanelDrawing::annotation_label(const Annotation& note, std::vector<Label>& into) const {
  const Point p = place(note.x, note.y);
  if (note.text.empty() || !std::isfinite(p.x + p.y)) return;
  const double width = text_width(note.text, style_.tick_text);
  const double height = 1.15 * style_.tick_text;
  Label label{note.text, {}};
  for (const double gap : {3.0, 8.0, 14.0}) {
    for (const double left : {p.x + gap, p.x - gap - width, p.x - width / 2}) {
      for (const double top : {p.y - height - gap, p.y + gap, p.y - height / 2}) {
        label.candidates.push_back(text_box(note.text, left, top));
      }
    }
  }
  into.push_back(std::move(label));
}

void PanelDrawing::labels() {
  std::vector<Label> wanted;
  for (const VerticalMarker& v : panel_.verticals) vertical_label(v, wanted);
  for (const LineSeries& s : panel_.lines) line_label(s, wanted);
  for (const Annotation& n : panel_.annotations) annotation_label(n, wanted);
  std::vector<std::vector<Box>> candidates;
  for (const Label& label : wanted) candidates.push_back(label.candidates);
  // Lines end at the top edge: their labels may stand in the gap above it.
  const Box bounds{area_.left, area_.top - gap_above, area_.right, area_.bottom};
  const auto chosen = place_labels(candidates, obstacles_, bounds);
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    if (!chosen[i]) continue;
    const Box& box = wanted[i].candidates[*chosen[i]];
    TextStyle style{style_.tick_text, Ink::ink, Anchor::start};
    style.halo = true;
    svg_.text(box.left, box.bottom - 0.28 * style_.tick_text, wanted[i].text, style);
  }
}

}  // namespace

void draw_panel(SvgWriter& svg, const Panel& panel, const Box& area, const Span& x,
                const PanelStyle& style) {
  PanelDrawing(svg, panel, area, x, style).draw();
}

}  // namespace leafwright
