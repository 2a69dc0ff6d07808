// Ratios of parameters, leaf by leaf.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/number.hpp"
#include "figure/agree_figures.hpp"
#include "figure/panel.hpp"
#include "figure/text.hpp"

namespace leafwright {
namespace {

constexpr double margin = 5;  // pt
constexpr double row_height = 9.5;
constexpr double text_size = 6.5;
constexpr double title_size = 8;
constexpr double widest_label = 70;  // pt, of a leaf's name

/// One parameter's part of the figure: what its axis spans, on logs.
struct Part {
  const Comparison* c = nullptr;
  double low = 0, high = 0;
};

double fit_reach(const LeafValue& leaf) {
  return leaf.se ? 1.959964 * *leaf.se : 0;
}

/// Leaves and the margin always fit; limits and intervals only as far as they do not squeeze them.
Part part_of(const Comparison& c) {
  Part part{&c, 0, 0};
  const auto take = [&](double v) {
    part.low = std::min(part.low, v);
    part.high = std::max(part.high, v);
  };
  for (const LeafValue& leaf : c.leaves) {
    if (!leaf.difference) continue;
    take(*leaf.difference - std::min(fit_reach(leaf), 1.0));
    take(*leaf.difference + std::min(fit_reach(leaf), 1.0));
  }
  if (c.equivalence) take(-c.equivalence->margin), take(c.equivalence->margin);
  const double room = 0.6 * (part.high - part.low) + 0.02;
  const double least = part.low - room, most = part.high + room;
  const auto take_some = [&](double v) { take(std::clamp(v, least, most)); };
  if (c.summary->low) take_some(*c.summary->low), take_some(*c.summary->high);
  if (c.summary->limits) {
    take_some(c.summary->limits->lower.value);
    take_some(c.summary->limits->upper.value);
  }
  const double pad = 0.06 * (part.high - part.low) + 0.01;
  part.low -= pad;
  part.high += pad;
  return part;
}

/// Round ratios inside the part whose labels keep apart.
std::vector<double> ratio_ticks(const Part& part, double width) {
  static constexpr std::array<double, 27> round = {0.05, 0.1,  0.2, 0.3,  0.4, 0.5, 0.6, 0.7, 0.8,
                                                   0.9,  0.95, 1,   1.05, 1.1, 1.2, 1.3, 1.4, 1.5,
                                                   1.6,  1.8,  2,   2.5,  3,   4,   5,   10,  20};
  const auto x = [&](double r) {
    return (std::log(r) - part.low) / (part.high - part.low) * width;
  };
  std::vector<double> out = {1};
  // 1 always; then those farthest from it first, so that the ends of the axis are told.
  std::vector<double> wanted(round.begin(), round.end());
  std::sort(wanted.begin(), wanted.end(),
            [](double a, double b) { return std::abs(std::log(a)) > std::abs(std::log(b)); });
  for (const double r : wanted) {
    if (std::log(r) < part.low || std::log(r) > part.high) continue;
    const bool clear =
        std::all_of(out.begin(), out.end(), [&](double o) { return std::abs(x(o) - x(r)) >= 19; });
    if (clear) out.push_back(r);
  }
  return out;
}

class RatioDrawing {
 public:
  RatioDrawing(const AgreementInput& input, const AgreementResult& result,
               const AgreeFigureOptions& options)
      : input_(input), options_(options) {
    for (const Comparison& c : result.parameters) {
      if (c.on_logs && c.summary) parts_.push_back(part_of(c));
    }
    beside_ = options.width_mm >= 150 && parts_.size() > 1;
  }

  [[nodiscard]] bool empty() const { return parts_.empty(); }
  std::string draw();

 private:
  [[nodiscard]] double part_height(const Part& part) const {
    const double rows = static_cast<double>(part.c->leaves.size()) + 1;
    return title_size + 6 + rows * row_height + 3 + 22;
  }
  [[nodiscard]] double label_width() const {
    double width = text_width("mean", text_size, true);
    for (const LeafPair& pair : input_.pairs) {
      width = std::max(width, text_width(pair.leaf, text_size));
    }
    return std::min(width, widest_label);
  }
  [[nodiscard]] std::string description() const;
  void draw_part(SvgWriter& svg, const Part& part, double left, double width, double top);
  void zones(SvgWriter& svg, const Part& part, double left, double width, double top,
             double bottom);
  void leaf_row(SvgWriter& svg, const Part& part, const LeafValue& leaf, double left, double width,
                double y);
  void mean_row(SvgWriter& svg, const Part& part, double left, double width, double y);
  void whisker(SvgWriter& svg, const Part& part, double low, double high, double left, double width,
               double y, Ink ink, double thick);
  void axis(SvgWriter& svg, const Part& part, double left, double width, double bottom);
  [[nodiscard]] static double at(const Part& part, double value, double left, double width) {
    return left + (value - part.low) / (part.high - part.low) * width;
  }

  const AgreementInput& input_;
  AgreeFigureOptions options_;
  std::vector<Part> parts_;
  bool beside_ = false;
};

std::string RatioDrawing::description() const {
  std::string out =
      fmt::format("Ratios {}/{} on a log axis, one row a leaf with 95 % of its fits' own errors.",
                  input_.methods[0], input_.methods[1]);
  for (const Part& part : parts_) {
    const Comparison& c = *part.c;
    out += fmt::format(" {}: mean {}", c.symbol, shown_difference(c.summary->mean, true));
    if (c.summary->low) {
      out += fmt::format(" ({} to {})", shown_difference(*c.summary->low, true),
                         shown_difference(*c.summary->high, true));
    }
    out += "; " + c.verdict + ".";
  }
  return out;
}

void RatioDrawing::zones(SvgWriter& svg, const Part& part, double left, double width, double top,
                         double bottom) {
  const Comparison& c = *part.c;
  if (c.equivalence) {
    const double a = at(part, -c.equivalence->margin, left, width);
    const double b = at(part, c.equivalence->margin, left, width);
    svg.rect(a, top, b - a, bottom - top, Paint{Ink::green, Ink::none, 0.5, Dash::solid, 0.15}, {},
             "within the stated margin");
  }
  const double one = at(part, 0, left, width);
  svg.line(one, top, one, bottom, Paint{Ink::none, Ink::muted, 0.5});
  if (!c.summary->limits) return;
  for (const Limit& limit : {c.summary->limits->lower, c.summary->limits->upper}) {
    if (limit.value < part.low || limit.value > part.high) continue;
    const double x = at(part, limit.value, left, width);
    svg.line(x, top, x, bottom, Paint{Ink::none, Ink::ink, 0.75, Dash::dashes}, {},
             fmt::format("limit of agreement {} ({} to {})", shown_difference(limit.value, true),
                         shown_difference(limit.low, true), shown_difference(limit.high, true)));
  }
}

void RatioDrawing::whisker(SvgWriter& svg, const Part& part, double low, double high, double left,
                           double width, double y, Ink ink, double thick) {
  const double a = at(part, std::max(low, part.low), left, width);
  const double b = at(part, std::min(high, part.high), left, width);
  const Paint paint{Ink::none, ink, thick};
  svg.line(a, y, b, y, paint);
  PathData arrows;  // where the axis ends before the interval does
  if (low < part.low) arrows.move(a + 3, y - 2).line(a, y).line(a + 3, y + 2);
  if (high > part.high) arrows.move(b - 3, y - 2).line(b, y).line(b - 3, y + 2);
  if (!arrows.empty()) svg.path(arrows, paint);
}

void RatioDrawing::leaf_row(SvgWriter& svg, const Part& part, const LeafValue& leaf, double left,
                            double width, double y) {
  const LeafPair& pair = input_.pairs[leaf.pair];
  if (!leaf.difference) {
    svg.text(left + width / 2, y + 0.36 * smallest_text, "no ratio",
             {smallest_text, Ink::muted, Anchor::middle}, {}, pair.leaf + ": " + leaf.why_not);
    return;
  }
  const double d = *leaf.difference;
  if (leaf.se)
    whisker(svg, part, d - fit_reach(leaf), d + fit_reach(leaf), left, width, y, Ink::blue, 0.75);
  svg.marker(Shape::circle, at(part, d, left, width), y, 2.1,
             marker_paint(Shape::circle, Ink::blue), {{"data-leaf", pair.leaf}},
             fmt::format("{}: {} {} {} / {} {}, ratio {:.3f}", pair.leaf, part.c->symbol,
                         input_.methods[0], print_rounded(*leaf.first, 4), input_.methods[1],
                         print_rounded(*leaf.second, 4), std::exp(d)));
}

void RatioDrawing::mean_row(SvgWriter& svg, const Part& part, double left, double width, double y) {
  const PairedSummary& s = *part.c->summary;
  if (s.low) whisker(svg, part, *s.low, *s.high, left, width, y, Ink::vermillion, 1.25);
  svg.marker(Shape::diamond, at(part, s.mean, left, width), y, 2.8,
             marker_paint(Shape::diamond, Ink::vermillion), {},
             "mean " + shown_difference(s.mean, true));
}

void RatioDrawing::axis(SvgWriter& svg, const Part& part, double left, double width,
                        double bottom) {
  const Paint paint{Ink::none, Ink::ink, 0.5};
  svg.line(left, bottom, left + width, bottom, paint);
  for (const double r : ratio_ticks(part, width)) {
    const double x = at(part, std::log(r), left, width);
    svg.line(x, bottom, x, bottom + 2.5, paint);
    svg.text(x, bottom + 3.5 + text_size, print_number(r), {text_size, Ink::ink, Anchor::middle});
  }
  svg.text(left + width / 2, bottom + 6 + 2.1 * text_size,
           shorten(fmt::format("{}/{}", input_.methods[0], input_.methods[1]), width, 7),
           {7, Ink::ink, Anchor::middle});
}

void RatioDrawing::draw_part(SvgWriter& svg, const Part& part, double left, double width,
                             double top) {
  svg.text(left, top + title_size, part.c->symbol, {title_size, Ink::ink, Anchor::start, true});
  const double first = top + title_size + 6;
  const double rows = static_cast<double>(part.c->leaves.size()) + 1;
  const double bottom = first + rows * row_height + 3;
  zones(svg, part, left, width, first, bottom);
  double y = first + row_height / 2;
  for (const LeafValue& leaf : part.c->leaves) {
    leaf_row(svg, part, leaf, left, width, y);
    y += row_height;
  }
  svg.line(left, y - row_height / 2 + 1.5, left + width, y - row_height / 2 + 1.5,
           Paint{Ink::none, Ink::muted, 0.5});
  mean_row(svg, part, left, width, y + 2);
  axis(svg, part, left, width, bottom);
}

std::string RatioDrawing::draw() {
  const double labels = label_width() + 5;
  const double whole = options_.width_mm * pt_per_mm;
  const double gap = 12;
  const double n = static_cast<double>(parts_.size());
  const double inner = whole - 2 * margin - labels - 4;
  const double width = beside_ ? (inner - gap * (n - 1)) / n : inner;
  double height = 0;
  for (const Part& part : parts_) {
    height = beside_ ? std::max(height, part_height(part)) : height + part_height(part) + 4;
  }
  const std::string legend =
      "circle: a leaf, with 95 % of its fits' own errors; diamond: mean of the plants, with its "
      "interval; dashed: limits of agreement; green: within the margin; arrow: goes on";
  const std::vector<std::string> lines = wrap(legend, whole - 2 * margin, smallest_text);
  const double foot = 4 + 1.3 * smallest_text * static_cast<double>(lines.size());
  SvgWriter svg(options_.width_mm, (height + foot + 2 * margin) / pt_per_mm, options_.theme,
                fmt::format("Ratios of parameters, {} to {}", input_.methods[0], input_.methods[1]),
                description());
  double left = margin + labels, top = margin;
  for (std::size_t i = 0; i < parts_.size(); ++i) {
    if (i == 0 || !beside_) {
      double y = top + title_size + 6 + row_height / 2 + 0.36 * text_size;
      for (const LeafValue& leaf : parts_[i].c->leaves) {
        const std::string& name = input_.pairs[leaf.pair].leaf;
        svg.text(left - 5, y, shorten(name, labels - 5, text_size),
                 {text_size, Ink::ink, Anchor::end}, {}, name);
        y += row_height;
      }
      svg.text(left - 5, y + 2, "mean", {text_size, Ink::ink, Anchor::end, true});
    }
    draw_part(svg, parts_[i], left, width, top);
    if (beside_) {
      left += width + gap;
    } else {
      top += part_height(parts_[i]) + 4;
    }
  }
  double y = margin + height + 2;
  for (const std::string& line : lines) {
    y += 1.3 * smallest_text;
    svg.text(margin, y, line, {smallest_text, Ink::muted});
  }
  return svg.finish();
}

}  // namespace

Result<std::string> ratio_figure(const AgreementInput& input, const AgreementResult& result,
                                 const AgreeFigureOptions& options) {
  if (!(options.width_mm >= 60 && options.width_mm <= 400)) {
    return fail(ErrorCode::usage, fmt::format("a figure width of {} mm", options.width_mm),
                "60 to 400 mm");
  }
  RatioDrawing drawing(input, result, options);
  if (drawing.empty()) {
    return fail(ErrorCode::usage, "no parameter has a ratio to draw",
                "at least one leaf with a value by both methods");
  }
  return drawing.draw();
}

}  // namespace leafwright
