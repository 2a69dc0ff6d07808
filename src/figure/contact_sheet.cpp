#include "figure/contact_sheet.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

#include "figure/aci_marks.hpp"
#include "figure/panel.hpp"
#include "figure/text.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

constexpr double margin = 6;
constexpr double gap = 9;
constexpr double id_text = 6.5;
constexpr double small_text = 6;
constexpr double narrowest_mm = 25;

// Shapes that no state has, so that a flag is never taken for a point.
struct Flag {
  Shape shape;
  const char* meaning;
};
constexpr Flag failed_flag = {Shape::square, "not fitted"};
constexpr Flag uncertified_flag = {Shape::ring, "not certified"};
constexpr Flag warning_flag = {Shape::plus, "has a warning"};

std::vector<Flag> flags_of(const SheetScore& score) {
  std::vector<Flag> flags;
  if (score.failed) flags.push_back(failed_flag);
  if (score.uncertified && !score.failed) flags.push_back(uncertified_flag);
  if (score.warnings > 0) flags.push_back(warning_flag);
  return flags;
}

PanelStyle thumbnail_style() {
  PanelStyle style;
  style.tick_text = small_text;
  style.marker = 1.5;
  style.tick = 1.8;
  style.x_spacing = 32;
  style.y_spacing = 20;
  style.titles = false;
  style.labels = false;
  return style;
}

struct Grid {
  double cell_width = 0, cell_height = 0;  // pt
  double plot_height = 0;
  std::size_t text_lines = 1;
  double header = 0;
  std::size_t columns = 0, per_page = 0;
};

Panel thumbnail(const SheetCurve& item) {
  Panel panel;
  panel.x.include_zero = reaches_low(*item.curve);
  panel.zero_line = true;
  panel.empty_text = "no row with A and Ci";
  if (!item.fit) {
    panel.points = plain_points(*item.curve);
    return panel;
  }
  panel.points = state_points(*item.fit, *item.curve);
  if (const auto range = used_range(*item.fit)) {
    LineSeries line = model_line(*item.fit, line_grid(*item.fit, range->first, range->second, 40));
    line.width = 0.9;
    panel.lines.push_back(std::move(line));
  }
  return panel;
}

std::string line_of(const SheetCurve& item) {
  if (!item.fit) return "Not fitted: " + (item.why.empty() ? "no reason recorded" : item.why);
  std::string text;
  for (const Estimate* e : estimates_of(*item.fit)) {
    if (!text.empty()) return text + ", " + e->symbol + " " + value_text(*e);
    text = e->symbol + " " + value_text(*e);
  }
  return text;
}

// A name stays on one line with its value.
std::string kept_together(std::string text) {
  for (std::size_t at = 0; (at = text.find(' ', at)) != std::string::npos;) {
    if (at > 0 && text[at - 1] == ',') {
      ++at;
    } else {
      text.replace(at, 1, "\u00a0");
    }
  }
  return text;
}

// At most `most` lines; what is cut off stays in the tooltip.
std::vector<std::string> text_lines(const SheetCurve& item, double width, std::size_t most) {
  std::vector<std::string> lines =
      wrap(item.fit ? kept_together(line_of(item)) : line_of(item), width - small_text, small_text);
  if (lines.size() > most) {
    lines.resize(most);
    lines.back() += " …";
  }
  return lines;
}

constexpr std::size_t most_text_lines = 2;

Grid grid_for(const ContactSheetOptions& options, const std::vector<SheetCurve>& curves) {
  Grid g;
  g.columns = static_cast<std::size_t>(options.columns);
  const double inner = options.width_mm * pt_per_mm - 2 * margin;
  g.cell_width = (inner - (options.columns - 1) * gap) / options.columns;
  g.plot_height = std::clamp(0.54 * (g.cell_width - 20), 40.0, 160.0);
  for (const SheetCurve& c : curves) {
    g.text_lines = std::max(g.text_lines, text_lines(c, g.cell_width, most_text_lines).size());
  }
  g.cell_height = 1.3 * id_text + 1.3 * small_text * static_cast<double>(g.text_lines) +
                  0.5 * small_text + g.plot_height + room_below(thumbnail_style()) + gap;
  g.per_page =
      options.rows == 0 ? curves.size() : g.columns * static_cast<std::size_t>(options.rows);
  return g;
}

std::string summary(const SheetCurve& item, const SheetScore& score) {
  std::string text = item.curve->curve_id + ": " + line_of(item);
  if (item.fit) {
    if (std::isfinite(item.fit->rmse)) text += ", RMSE " + pretty_number(item.fit->rmse, 3);
    text += item.fit->certified ? ", certified" : ", not certified";
    for (const Note& note : item.fit->notes) {
      if (note.level != NoteLevel::info) text += "; " + note.text;
    }
  }
  if (score.warnings > 0) text += fmt::format(" ({} warnings)", score.warnings);
  return text;
}

void draw_flags(SvgWriter& svg, const std::vector<Flag>& flags, double right, double y) {
  for (std::size_t i = 0; i < flags.size(); ++i) {
    const double x = right - 4 - 9 * static_cast<double>(i);
    svg.marker(flags[i].shape, x, y, 2.6, marker_paint(flags[i].shape, Ink::ink), {},
               flags[i].meaning);
  }
}

void draw_thumbnail(SvgWriter& svg, const SheetCurve& item, const Panel& panel, const Grid& g,
                    double left, double top, double left_room) {
  const SheetScore score = sheet_score(item);
  const std::vector<Flag> flags = flags_of(score);
  svg.open_group({}, {{"data-curve", item.curve->curve_id}}, summary(item, score));
  const double room = g.cell_width - 9 * static_cast<double>(flags.size()) - 2;
  const double id_line = top + id_text;
  const std::string id = item.curve->curve_id.empty() ? "(no id)" : item.curve->curve_id;
  svg.text(left, id_line, shorten(id, room, id_text, true),
           {id_text, Ink::ink, Anchor::start, true});
  draw_flags(svg, flags, left + g.cell_width, id_line - 0.36 * id_text);
  double text_line = id_line;
  for (const std::string& text : text_lines(item, g.cell_width, g.text_lines)) {
    text_line += 1.3 * small_text;
    svg.text(left, text_line, text, {small_text});
  }
  PanelStyle style = thumbnail_style();
  const double plot_top = id_line + small_text * (1.3 * static_cast<double>(g.text_lines) + 0.8);
  const Box area{left + left_room, plot_top, left + g.cell_width - 3, plot_top + g.plot_height};
  draw_panel(svg, panel, area, shared_x_span({panel}), style);
  svg.close_group();
}

struct Key {
  std::string text;
  std::optional<Shape> shape;
  Ink ink = Ink::ink;
};

// Returns the height; draws where `svg` is given.
double draw_header(SvgWriter* svg, const std::string& heading, double width, bool c4) {
  std::vector<Key> keys;
  const auto add = [&](const StateStyle& s) { keys.push_back({s.label, s.shape, s.ink}); };
  if (c4) {
    for (const C4State s : {C4State::pep, C4State::plateau}) add(state_style(s));
  } else {
    for (const Limitation s : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
      add(state_style(s));
    }
  }
  keys.push_back({unused_style.label, unused_style.shape, unused_style.ink});
  keys.push_back({plain_style.label, plain_style.shape, plain_style.ink});
  for (const Flag& f : {failed_flag, uncertified_flag, warning_flag}) {
    keys.push_back({f.meaning, f.shape, Ink::ink});
  }
  double y = margin + 8;
  if (svg)
    svg->text(margin, y, shorten(heading, width, 8, true), {8, Ink::ink, Anchor::start, true});
  const std::string caption = axis_title({"Net assimilation A", "umol m-2 s-1", {}, {}, false}) +
                              " against " +
                              axis_title({"intercellular CO₂ Ci", "umol mol-1", {}, {}, false}) +
                              (c4 ? "; Vpmax and the plateau in " : "; Vcmax and J in ") +
                              pretty_unit("umol m-2 s-1") + "; the line is the fitted model.";
  for (const std::string& line : wrap(caption, width, small_text)) {
    y += 1.4 * small_text;
    if (svg) svg->text(margin, y, line, {small_text, Ink::muted});
  }
  y += 1.6 * small_text;
  double x = margin;
  for (const Key& key : keys) {
    const double w = 9 + text_width(key.text, small_text) + 8;
    if (x > margin && x + w - 8 > margin + width) x = margin, y += 1.5 * small_text;
    if (svg) {
      svg->marker(*key.shape, x + 3, y - 0.36 * small_text, 2.1, marker_paint(*key.shape, key.ink));
      svg->text(x + 8, y, key.text, {small_text});
    }
    x += w;
  }
  return y + 9 - margin;
}

Result<void> check(const std::vector<SheetCurve>& curves, const ContactSheetOptions& options) {
  if (!(options.width_mm >= 60 && options.width_mm <= 400)) {
    return fail(ErrorCode::usage, fmt::format("a figure width of {} mm", options.width_mm),
                "expected 60 to 400 mm");
  }
  if (options.columns < 1 || options.columns > 12 ||
      options.width_mm / options.columns < narrowest_mm) {
    return fail(ErrorCode::usage,
                fmt::format("{} columns in {} mm", options.columns, options.width_mm),
                "expected 1 to 12 columns, each at least 25 mm wide");
  }
  if (options.rows < 0) {
    return fail(ErrorCode::usage, fmt::format("{} rows a page", options.rows), "expected 0 or more",
                "0 puts all curves on one tall page");
  }
  if (curves.empty()) return fail(ErrorCode::usage, "a contact sheet without a curve");
  for (const SheetCurve& c : curves) {
    if (!c.curve) return fail(ErrorCode::usage, "an entry of the contact sheet without its curve");
  }
  return {};
}

void use_same_axes(std::vector<Panel>& panels) {
  const Span x = shared_x_span(panels);
  Span y{std::numeric_limits<double>::max(), std::numeric_limits<double>::lowest()};
  for (const Panel& p : panels) {
    const Span own = y_span(p);
    y = {std::min(y.low, own.low), std::max(y.high, own.high)};
  }
  for (Panel& p : panels) {
    p.x.low = x.low, p.x.high = x.high;
    p.y.low = y.low, p.y.high = y.high;
  }
}

}  // namespace

SheetScore sheet_score(const SheetCurve& item) {
  SheetScore score;
  score.failed = item.fit == nullptr;
  score.uncertified = item.fit != nullptr && !item.fit->certified;
  const Notes none;
  for (const Notes* notes :
       {item.fit ? &item.fit->notes : &none, item.curve ? &item.curve->notes : &none}) {
    for (const Note& note : *notes) {
      // Says how the value at 25 degC was made, not how good the curve is.
      if (note.about == "moved-to-25") continue;
      if (note.level == NoteLevel::warning) ++score.warnings;
      if (note.level == NoteLevel::caution) ++score.cautions;
    }
  }
  if (!item.fit) return score;
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const FittedRow& row : item.fit->rows) {
    low = std::min(low, row.A);
    high = std::max(high, row.A);
  }
  const double relative = item.fit->rmse / (high - low);
  score.relative_rmse =
      high > low && std::isfinite(relative) ? relative : std::numeric_limits<double>::infinity();
  return score;
}

bool worse(const SheetScore& a, const SheetScore& b) {
  if (a.failed != b.failed) return a.failed;
  if (a.uncertified != b.uncertified) return a.uncertified;
  if (a.warnings != b.warnings) return a.warnings > b.warnings;
  if (a.cautions != b.cautions) return a.cautions > b.cautions;
  return a.relative_rmse > b.relative_rmse;
}

std::vector<std::size_t> worst_first(const std::vector<SheetCurve>& curves) {
  std::vector<SheetScore> scores;
  for (const SheetCurve& c : curves) scores.push_back(sheet_score(c));
  std::vector<std::size_t> order(curves.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return worse(scores[a], scores[b]); });
  return order;
}

Result<std::vector<std::string>> contact_sheet(const std::vector<SheetCurve>& curves,
                                               const ContactSheetOptions& options) {
  if (auto ok = check(curves, options); !ok) return fail(ok.error());
  const std::vector<std::size_t> order = worst_first(curves);
  const Grid g = grid_for(options, curves);
  std::vector<Panel> panels;
  for (const std::size_t i : order) panels.push_back(thumbnail(curves[i]));
  if (options.same_axes) use_same_axes(panels);
  for (Panel& p : panels) p.height = g.plot_height;
  const std::size_t pages = (curves.size() + g.per_page - 1) / g.per_page;
  const double width = options.width_mm * pt_per_mm - 2 * margin;
  const bool c4 = std::any_of(curves.begin(), curves.end(), [](const SheetCurve& c) {
    return c.fit != nullptr && c.fit->c4.has_value();
  });
  std::vector<std::string> out;
  for (std::size_t page = 0; page < pages; ++page) {
    const std::size_t first = page * g.per_page;
    const std::size_t last = std::min(first + g.per_page, curves.size());
    const std::string heading =
        fmt::format("{} {}, worst first; page {} of {}", curves.size(),
                    curves.size() == 1 ? "curve" : "curves", page + 1, pages);
    const double header = draw_header(nullptr, heading, width, c4);
    const std::size_t rows = (last - first + g.columns - 1) / g.columns;
    const double height = 2 * margin + header + static_cast<double>(rows) * g.cell_height - gap;
    SvgWriter svg(options.width_mm, height / pt_per_mm, options.theme,
                  "Contact sheet of A-Ci curves",
                  heading + ". Each small figure shows A against Ci with the fitted model.");
    draw_header(&svg, heading, width, c4);
    for (std::size_t i = first; i < last; ++i) {
      const std::size_t column = (i - first) % g.columns;
      const std::size_t row = (i - first) / g.columns;
      draw_thumbnail(svg, curves[order[i]], panels[i], g,
                     margin + static_cast<double>(column) * (g.cell_width + gap),
                     margin + header + static_cast<double>(row) * g.cell_height,
                     room_left(panels[i], thumbnail_style()));
    }
    out.push_back(svg.finish());
  }
  return out;
}

}  // namespace leafwright
