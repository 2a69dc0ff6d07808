#include "figure/aci_panel.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "figure/aci_marks.hpp"
#include "figure/panel.hpp"
#include "figure/text.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

/// Head of the interval column: the caller's words, else what the fit says its intervals are.
std::string interval_head(const CurveFit& fit, const AciPanelOptions& options) {
  if (!options.interval.empty()) return options.interval;
  return fit.interval_kind.empty() ? "interval" : fit.interval_kind;
}

constexpr double beside_from_mm = 150;  // narrower figures have their numbers below the plot
constexpr double block_mm = 76;
constexpr std::size_t most_listed = 6;  // unused rows and notes named in the text

Panel aci_axes(const Curve& curve, double plot_width) {
  Panel panel;
  panel.x = {"Intercellular CO₂ Ci", "umol mol-1", {}, {}, false};
  panel.y = {"Net assimilation A", "umol m-2 s-1", {}, {}, false};
  panel.x.include_zero = reaches_low(curve);
  panel.height = std::clamp(0.68 * plot_width, 105.0, 260.0);
  panel.zero_line = true;
  panel.empty_text = "no row with a number for both A and Ci";
  return panel;
}

double plot_width_pt(double width_mm) {
  const double block = width_mm >= beside_from_mm ? block_mm + 5 : 0;
  return (width_mm - block) * pt_per_mm - 45;
}

/// The label of a state, by its name.
std::string state_label(const std::string& name) {
  for (const Limitation state : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
    if (name == limitation_name(state)) return state_style(state).label;
  }
  return state_style(name == c4_state_name(C4State::pep) ? C4State::pep : C4State::plateau).label;
}

std::string transition_label(const NamedTransition& t) {
  return "Ci " + pretty_number(t.Ci);
}

Panel main_panel(const CurveFit& fit, const Curve& curve, double plot_width) {
  Panel panel = aci_axes(curve, plot_width);
  panel.points = state_points(fit, curve);
  // Rows that were not used stay last: unused_text counts on it.
  if (auto mark = operating_mark(fit)) panel.points.insert(panel.points.end() - 1, *mark);
  if (const auto range = used_range(fit)) {
    LineSeries model = model_line(fit, line_grid(fit, range->first, range->second, 120));
    panel.lines.push_back(std::move(model));
    const Span x = shared_x_span({panel});
    std::vector<LineSeries> limits = limiting_lines(fit, line_grid(fit, x.low, x.high, 160));
    panel.lines.insert(panel.lines.begin(), limits.begin(), limits.end());
    if (auto supply = supply_line(fit)) panel.lines.push_back(std::move(*supply));
  }
  for (const NamedTransition& t : transitions_of(fit)) {
    if (!std::isfinite(t.Ci)) continue;
    const std::string what = fmt::format("{} to {} at Ci {} µmol mol⁻¹", state_label(t.from),
                                         state_label(t.to), pretty_number(t.Ci));
    panel.verticals.push_back({t.Ci, transition_label(t), what});
  }
  return panel;
}

Panel residual_panel(const CurveFit& fit, const Panel& above) {
  Panel panel;
  panel.x = above.x;
  panel.y = {"Residual", "umol m-2 s-1", {}, {}, false};
  panel.height = std::max(46.0, 0.28 * above.height);
  panel.zero_line = true;
  for (const VerticalMarker& v : above.verticals) panel.verticals.push_back({v.x, "", v.tooltip});
  double largest = 0;
  for (PointSeries s : above.points) {
    s.name.clear();
    std::vector<Mark> marks;
    for (Mark& m : s.marks) {
      const auto row = std::find_if(fit.rows.begin(), fit.rows.end(),
                                    [&](const FittedRow& f) { return f.row == m.row; });
      if (row == fit.rows.end() || !std::isfinite(row->residual)) continue;
      m.y = row->residual;
      m.tooltip += ", residual " + pretty_number(row->residual, 3);
      largest = std::max(largest, std::abs(row->residual));
      marks.push_back(m);
    }
    s.marks = std::move(marks);
    panel.points.push_back(std::move(s));
  }
  if (largest > 0) panel.y.low = -1.15 * largest, panel.y.high = 1.15 * largest;
  return panel;
}

std::vector<std::vector<std::string>> estimate_table(const CurveFit& fit,
                                                     const AciPanelOptions& options) {
  const std::vector<const Estimate*> estimates = estimates_of(fit);
  const char* const symbols[] = {"Vcmax", "J", "TPU", "Rday"};
  const bool widened = std::any_of(estimates.begin(), estimates.end(),
                                   [](const auto* e) { return e->low_widened || e->high_widened; });
  std::vector<std::vector<std::string>> table = {
      {"µmol m⁻² s⁻¹", "value", interval_head(fit, options)}};
  if (widened) table[0].push_back(options.widened);
  for (std::size_t i = 0; i < estimates.size(); ++i) {
    const Estimate& e = *estimates[i];
    const std::string unit = e.unit == "mol m-2 s-1" ? " (mol m⁻² s⁻¹)" : "";
    const bool has_interval = e.status != Status::fixed && (e.value || e.low || e.high);
    std::vector<std::string> row = {(e.symbol.empty() && i < 4 ? symbols[i] : e.symbol) + unit,
                                    value_text(e)};
    const bool said = !e.value && e.status != Status::not_identified;  // value_text is the bound
    row.push_back(!has_interval ? "" : said ? status_name(e.status) : interval_text(e.low, e.high));
    if (widened) {
      row.push_back(e.low_widened || e.high_widened ? interval_text(e.low_widened, e.high_widened)
                                                    : "");
    }
    table.push_back(std::move(row));
  }
  return table;
}

std::string at25_text(const CurveFit& fit) {
  std::string text;
  for (const At25& a : fit.at25) {
    if (!a.value || !std::isfinite(*a.value)) continue;
    text += (text.empty() ? "" : ", ") + a.symbol + " " + pretty_number(*a.value);
  }
  return text.empty() ? "" : "At 25 °C (" + fit.response_set + "): " + text;
}

std::string finite_text(const char* name, double value, const char* unit, int digits = 4) {
  return std::string(name) + " " +
         (std::isfinite(value) ? pretty_number(value, digits) : "unknown") + unit;
}

std::string kinetics_text(const CurveFit& fit) {
  if (fit.c4) {
    return fmt::format("Kinetics {}: {}, {}. Plateau: {}.", fit.kinetics_set,
                       finite_text("Kp", fit.c4->kinetics.Kp / fit.c4->bar, ""),
                       finite_text("gbs", fit.c4->kinetics.gbs, " mol m⁻² s⁻¹ bar⁻¹"),
                       c4_plateau_name(fit.c4->plateau));
  }
  const Electrons& e = fit.electrons;
  std::string text = fmt::format("Kinetics {}: {}, {}. RuBP: {}C\u00a0+\u00a0{}Γ*.",
                                 fit.kinetics_set.empty() ? "as given" : fit.kinetics_set,
                                 finite_text("Km", fit.kinetics.Km, ""),
                                 finite_text("Γ*", fit.kinetics.gamma_star, " µmol mol⁻¹"),
                                 pretty_number(e.carboxylation), pretty_number(e.oxygenation));
  if (fit.gm) text += " " + finite_text("gm", *fit.gm, " mol m⁻² s⁻¹.");
  if (fit.theta) text += " " + finite_text("Smooth minimum, θ", *fit.theta, ".");
  if (fit.alpha > 0) text += " " + finite_text("α", fit.alpha, ".");
  return text;
}

std::string operating_text(const CurveFit& fit) {
  if (!fit.operating || !fit.operating->Ci) return "";
  const OperatingPoint& p = *fit.operating;
  std::string text =
      fmt::format("Operating point at CO₂ {}: Ci {}", pretty_number(p.CO2), pretty_number(*p.Ci));
  if (p.limitation) text += fmt::format(", limitation {}", pretty_number(*p.limitation, 3));
  if (p.relative) text += fmt::format(", relative {}", pretty_number(*p.relative, 3));
  if (p.WUEi) text += fmt::format(", A/gsw {} µmol mol⁻¹", pretty_number(*p.WUEi, 3));
  return text + ".";
}

std::string unused_text(const Curve& curve, const std::vector<PointSeries>& points) {
  const std::vector<Mark>& unused = points.back().marks;
  std::string text;
  std::size_t listed = 0;
  for (const CurveRow& row : curve.rows) {
    const auto is_row = [&](const Mark& m) { return m.row == row.row; };
    if (std::none_of(unused.begin(), unused.end(), is_row)) continue;
    if (listed++ == most_listed) break;
    const std::string line = row.place.line > 0 ? fmt::format(" (line {})", row.place.line) : "";
    text += fmt::format("{}row {}{} {}", text.empty() ? "Not used (×): " : "; ", row.row, line,
                        row.why.empty() ? "no reason recorded" : row.why);
  }
  if (unused.size() > most_listed) {
    text += fmt::format("; and {} more", unused.size() - most_listed);
  }
  return text.empty() ? "" : text + ".";
}

void add_notes(const Notes& notes, std::vector<std::string>& paragraphs) {
  std::size_t listed = 0;
  std::size_t more = 0;
  for (const NoteLevel level : {NoteLevel::warning, NoteLevel::caution}) {
    for (const Note& note : notes) {
      if (note.level != level) continue;
      if (listed == most_listed) {
        ++more;
        continue;
      }
      ++listed;
      const char* head = level == NoteLevel::warning ? "Warning: " : "Caution: ";
      paragraphs.push_back(head + (note.text.empty() ? note.about : note.text));
    }
  }
  if (more > 0) paragraphs.push_back(fmt::format("And {} more notes.", more));
}

TextBlock fit_block(const CurveFit& fit, const Curve& curve, const std::vector<PointSeries>& points,
                    const AciPanelOptions& options) {
  TextBlock block;
  block.table = estimate_table(fit, options);
  block.paragraphs.push_back(
      fmt::format("{} of {} rows used, {}, df {}.", fit.points, curve.rows.size(),
                  finite_text("RMSE", fit.rmse, " µmol m⁻² s⁻¹", 3), fit.df));
  block.paragraphs.push_back(fit.certified ? "Certified: yes, no other parameters fit better."
                                           : "Certified: no, a better fit cannot be ruled out.");
  const std::string at25 = at25_text(fit);
  if (!at25.empty()) block.paragraphs.push_back(at25 + ".");
  block.paragraphs.push_back(finite_text("Tleaf", fit.Tleaf, " °C") + ", " +
                             finite_text("Patm", fit.Patm, " kPa") + ".");
  block.paragraphs.push_back(kinetics_text(fit));
  if (const std::string text = operating_text(fit); !text.empty()) block.paragraphs.push_back(text);
  const std::string unused = unused_text(curve, points);
  if (!unused.empty()) block.paragraphs.push_back(unused);
  add_notes(fit.notes, block.paragraphs);
  return block;
}

std::string fit_description(const CurveFit& fit, const AciPanelOptions& options) {
  std::string text =
      "Net assimilation A (µmol m⁻² s⁻¹) against intercellular CO₂ Ci (µmol mol⁻¹), with the "
      "fitted model, the rates under each limitation alone, and the residuals below.";
  for (const Estimate* e : estimates_of(fit)) {
    text += " " + e->symbol + " " + value_text(*e);
    if (e->value && e->status != Status::fixed) {
      text += " (" + interval_head(fit, options) + " " + interval_text(e->low, e->high) + ")";
    }
    text += ".";
  }
  return text + (fit.certified ? " Certified best fit." : " Not certified.");
}

Chart chart_for(const std::string& curve_id, const AciPanelOptions& options) {
  Chart chart;
  chart.width_mm = options.width_mm;
  chart.theme = options.theme;
  chart.heading = curve_id.empty() ? "(curve without an id)" : curve_id;
  chart.title = "A-Ci curve " + chart.heading;
  if (options.width_mm >= beside_from_mm) chart.block_width_mm = block_mm;
  return chart;
}

}  // namespace

Result<std::string> aci_panel(const CurveFit& fit, const Curve& curve,
                              const AciPanelOptions& options) {
  Chart chart = chart_for(fit.curve_id, options);
  chart.desc = fit_description(fit, options);
  const Panel panel = main_panel(fit, curve, plot_width_pt(options.width_mm));
  chart.block = fit_block(fit, curve, panel.points, options);
  chart.panels = {panel, residual_panel(fit, panel)};
  return render_chart(chart);
}

Result<std::string> failed_panel(const FailedCurve& failed, const Curve& curve,
                                 const AciPanelOptions& options) {
  Chart chart = chart_for(failed.curve_id, options);
  const std::string why = failed.why.empty() ? "no reason was recorded" : failed.why;
  chart.desc =
      "Net assimilation A (µmol m⁻² s⁻¹) against intercellular CO₂ Ci (µmol mol⁻¹). "
      "Not fitted: " +
      why + ".";
  Panel panel = aci_axes(curve, plot_width_pt(options.width_mm));
  panel.points = plain_points(curve);
  chart.block.paragraphs = {"Not fitted: " + why};
  const std::string unused = unused_text(curve, panel.points);
  if (!unused.empty()) chart.block.paragraphs.push_back(unused);
  add_notes(curve.notes, chart.block.paragraphs);
  chart.panels = {panel};
  return render_chart(chart);
}

}  // namespace leafwright
