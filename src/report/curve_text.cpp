#include "report/curve_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/fitted.hpp"
#include "report/fit_text.hpp"
#include "report/stomata_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

using Align = TextTable::Align;

/// Names for people, as figures use them.
const char* state_label(Limitation state) {
  switch (state) {
    case Limitation::rubisco:
      return "Rubisco";
    case Limitation::rubp:
      return "RuBP";
    case Limitation::tpu:
      return "TPU";
  }
  return "";
}

const char* state_label(const std::string& name) {
  if (name == "rubisco") return state_label(Limitation::rubisco);
  if (name == "rubp") return state_label(Limitation::rubp);
  if (name == "tpu") return state_label(Limitation::tpu);
  return name == "pep" ? "PEP carboxylation" : "the plateau";
}

/// "gm (mol m-2 s-1)": the table's head names the unit of most.
std::string symbol_text(const Estimate& e) {
  return e.unit == "umol m-2 s-1" ? e.symbol : e.symbol + " (" + e.unit + ")";
}

/// "lower bound; best fit at 39.4": a value beside a bound is no estimate.
std::string status_remark(const Estimate& e) {
  std::string out = status_name(e.status);
  if (e.status != Status::fixed && e.value) {
    out += "; best fit at " + fixed_text(*e.value, estimate_decimals(e));
  }
  return out;
}

std::string estimates_table(const CurveFit& fit) {
  TextTable table;
  table.column("umol m-2 s-1", Align::left);
  table.column("value", Align::right);
  table.column("se", Align::right);
  table.column(fit.interval_kind, Align::left);
  table.column("for correlated residuals", Align::left);
  table.column("at 25 degC", Align::right);
  table.column("", Align::left);
  for (const Estimate* e : estimates_of(fit)) {
    const bool told = e->status == Status::estimated;
    const int digits = estimate_decimals(*e);
    table.row({symbol_text(*e), estimate_text(*e, digits),
               told && e->se ? fixed_text(*e->se, digits) : "",
               told && (e->low || e->high) ? interval_words(e->low, e->high, digits) : "",
               told && fit.residual_correlation
                   ? interval_words(e->low_widened, e->high_widened, digits)
                   : "",
               at25_text(fit, e->symbol + "25"), told ? "" : status_remark(*e)});
  }
  return table.text(2);
}

std::string transitions_text(const CurveFit& fit) {
  std::string out;
  for (const NamedTransition& t : transitions_of(fit)) {
    out += fmt::format("; {} to {} at Ci {:.0f}", state_label(t.from), state_label(t.to), t.Ci);
  }
  return out;
}

std::string alternative_text(const Alternative& other, const CurveFit& fit) {
  std::string out = fmt::format("{}: ssr {}", other.what, print_rounded(other.ssr, 4));
  const auto add = [&](const char* symbol, double value, int decimals) {
    if (std::isfinite(value)) out += fmt::format(", {} {}", symbol, fixed_text(value, decimals));
  };
  add("Vcmax", other.leaf.Vcmax, 1);
  add("J", other.leaf.J, 1);
  add("TPU", other.leaf.TPU, 2);
  add("Rday", other.leaf.Rday, 2);
  return out + fmt::format(" (this fit: ssr {})", print_rounded(fit.ssr, 4));
}

std::string residuals_text(const CurveFit& fit) {
  const ResidualChecks& r = fit.residuals;
  std::string out = fmt::format("residuals: rmse {} on {}", print_rounded(fit.rmse, 3),
                                counted(fit.df, "degree of freedom", "degrees of freedom"));
  if (r.lag1) {
    out += fmt::format(", neighbours correlated by {:.2f}", *r.lag1);
    if (r.lag1_expected) out += fmt::format(" (independent noise: {:.2f})", *r.lag1_expected);
  }
  if (r.runs_p) out += fmt::format(", runs p {:.2f}", *r.runs_p);
  if (r.largest) out += fmt::format(", largest {:.1f} standard deviations", *r.largest);
  return out;
}

/// "Rday: dark respiration 1.5 at 22 degC less 30 % inhibited in light, x 1.18 (bernacchi-2001)"
std::string dark_text(const DarkRespiration& d) {
  std::string out = "Rday: dark respiration " + print_rounded(d.dark, 3);
  out += d.temperature ? " at " + print_rounded(*d.temperature, 4) + " degC"
                       : ", taken as measured at Tleaf,";
  out += fmt::format(" less {:.6g} % inhibited in light", 100 * d.inhibition);
  if (!d.response.empty()) out += fmt::format(", times {:.3f} ({})", d.factor, d.response);
  return out;
}

/// "Jmax: Qin 1500, absorptance 0.85, f 0.15, theta 0.7, I2 541.9, J is 0.87 of it"
std::string light_text(const JmaxOrigin& l) {
  std::string out = "Jmax: ";
  out += l.ppfd ? fmt::format("Qin {:.0f}", *l.ppfd) : "Qin not known";
  out += fmt::format(", absorptance {}, f {}, theta {}", l.absorptance, l.loss, l.curvature);
  if (l.I2) out += fmt::format(", I2 {:.1f}", *l.I2);
  if (l.J_to_Jmax) out += fmt::format(", J is {:.2f} of it", *l.J_to_Jmax);
  return out;
}

/// "weights: 1/sd^2 ..., residuals 1.2 times the sd; Huber's loss: scale 0.3, 2 rows below 1, ..."
std::string weights_text(const CurveFit& fit) {
  const Weighting& w = *fit.weighting;
  std::string out = "weights: ";
  if (!w.sd_column.empty()) {
    out += "1/sd^2 (column " + w.sd_column + ")";
    if (w.residual_to_sd) out += ", residuals " + print_rounded(*w.residual_to_sd, 2) + " times sd";
  }
  if (w.huber) {
    out += w.sd_column.empty() ? "" : "; ";
    out += fmt::format("Huber's loss (k {}), scale {}, {} weighted down", w.huber->k,
                       print_rounded(w.huber->scale, 2), counted(w.huber->down, "row"));
    if (w.huber->down > 0) out += ", down to " + print_rounded(w.huber->least, 2);
    out += ", intervals by pseudo-values";
  }
  return out;
}

/// "hyperbola: initial_slope 0.081 (0.074-0.090), Asat 28.1 (...), ..."
std::string empirical_text(const EmpiricalFit& fit) {
  std::string out = std::string("empirical ") + empirical_form_name(fit.form) + ":";
  for (const ResponseEstimate& e : fit.estimates) {
    const int digits = e.unit == "mol m-2 s-1" || e.unit.empty() ? 3 : 1;
    out += (out.back() == ':' ? " " : ", ") + e.symbol + " ";
    out += e.value ? fixed_text(*e.value, digits) : e.status;
    if (e.value && (e.low || e.high)) out += " (" + interval_words(e.low, e.high, digits) + ")";
  }
  return out;
}

std::string signed_text(const std::optional<double>& value, int decimals) {
  if (!value) return "";
  const std::string text = fixed_text(*value, decimals);
  return *value > 0 && text.find_first_of("123456789") != std::string::npos ? "+" + text : text;
}

std::string budget_table(const CurveFit& fit) {
  if (fit.budget.empty()) return "";
  TextTable table;
  table.column("what else moves them", Align::left);
  table.column("by", Align::left);
  if (fit.c4) {
    table.column("Vpmax %", Align::right);
    table.column(fit.more.size() > 1 ? fit.more[1].symbol + " %" : "plateau %", Align::right);
    table.column("Rday", Align::right);
    for (const BudgetLine& line : fit.budget) {
      table.row({line.cause, line.step, signed_text(line.Vpmax, 1), signed_text(line.top, 1),
                 signed_text(line.Rday, 2)});
    }
    return table.text(2);
  }
  table.column("Vcmax %", Align::right);
  table.column("J %", Align::right);
  table.column("TPU %", Align::right);
  table.column("Rday", Align::right);
  for (const BudgetLine& line : fit.budget) {
    table.row({line.cause, line.step, signed_text(line.Vcmax, 1), signed_text(line.J, 1),
               signed_text(line.TPU, 1), signed_text(line.Rday, 2)});
  }
  return table.text(2);
}

}  // namespace

int estimate_decimals(const Estimate& e) {
  if (e.unit == "mol m-2 s-1") return 3;
  return e.symbol == "TPU" || e.symbol == "Rday" ? 2 : 1;
}

std::string fixed_text(double value, int decimals) {
  if (!std::isfinite(value)) return "";
  if (std::abs(value) >= 1e6) return print_rounded(value, 4);
  const std::string text = fmt::format("{:.{}f}", value, decimals);
  // "-0.00" is a rounded zero, not a negative number.
  return text.find_first_of("123456789") == std::string::npos
             ? fmt::format("{:.{}f}", 0.0, decimals)
             : text;
}

namespace {

/// The setting, with the share that light inhibits and the temperature of a dark measurement.
std::string rday_words(const FitDocument& document) {
  std::string out = setting_text(document, "rday");
  if (!out.starts_with("dark:")) return out;
  out += " with " + setting_text(document, "rday-inhibition") + " of it inhibited in light";
  const std::string at = setting_text(document, "rday-dark-temperature");
  return at.empty() ? out : out + ", measured at " + at + " degC";
}

}  // namespace

std::string method_text(const FitDocument& document) {
  const auto setting = [&](const char* name) { return setting_text(document, name); };
  const std::string limitations = setting("limitations");
  const std::string rday = rday_words(document);
  const std::vector<CurveFit>& fits = document.campaign->fits;
  if (!fits.empty() && fits.front().c4) {
    std::string out =
        "C4, kinetics " + setting("kinetics") + " (" + setting("basis") + "), plateau ";
    out += setting("plateau") + (rday == "free" ? ", Rday fitted" : ", Rday " + rday);
    out += ", Cm taken as Ci, gbs " + setting("gbs") + " mol m-2 s-1 bar-1";
    out += weighting_words(fits.front()) + ", at 25 degC by ";
    return wrapped(out + setting("at25"), 0);
  }
  std::string out = "C3, kinetics " + setting("kinetics") + " (" + setting("basis") + "), ";
  out += limitations == "auto" ? "TPU where an F test asks for it" : "limitations " + limitations;
  out += rday == "free" ? ", Rday fitted" : ", Rday " + rday;
  out += ", gm " + setting("gm");
  if (const std::string moved = setting("gm-response"); !moved.empty()) {
    out += (setting("gm") == "free" ? " (at 25 degC by " : " at 25 degC (moved by ") + moved + ")";
  }
  out += ", electrons " + setting("electrons");
  if (!fits.empty()) out += weighting_words(fits.front());
  if (!fits.empty() && fits.front().light) {
    out += ", Jmax with absorptance " + setting("leaf-absorptance") + ", f " +
           setting("light-loss") + " and theta " + setting("light-curvature");
  }
  if (!fits.empty() && fits.front().theta) out += ", smooth minimum theta " + setting("smooth");
  out += ", at 25 degC by " + setting("at25");
  return wrapped(out, 0);
}

std::string weighting_words(const CurveFit& fit) {
  if (!fit.weighting) return "";
  const Weighting& w = *fit.weighting;
  std::string out;
  if (!w.sd_column.empty()) out += ", weights 1/sd^2 (column " + w.sd_column + ")";
  if (w.huber) out += fmt::format(", Huber's loss with k {}", w.huber->k);
  return out;
}

std::string interval_kinds(const CampaignFit& campaign) {
  std::vector<std::string> kinds;
  for (const CurveFit& fit : campaign.fits) {
    const std::string& kind = fit.interval_kind;
    const bool known = std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
    if (!kind.empty() && !known) kinds.push_back(kind);
  }
  return join(kinds, " or ");
}

std::string interval_kind(const FitDocument& document) {
  const CampaignFit& campaign = *document.campaign;
  const std::string kind = interval_kinds(campaign);
  if (kind.empty()) return "Intervals: none were asked for";
  if (!campaign.correlation) return "Intervals: " + kind + ", for independent residuals";
  return fmt::format("Intervals: {}, widened for residuals correlated by {:.2f}", kind,
                     *campaign.correlation);
}

std::string states_text(const CurveFit& fit) {
  std::string out;
  for (const char* state : {"rubisco", "rubp", "tpu", "pep", "plateau"}) {
    const auto rows = std::count_if(fit.rows.begin(), fit.rows.end(), [&](const FittedRow& row) {
      return std::string_view(row_state_name(row)) == state;
    });
    if (rows > 0) {
      out += fmt::format("{}{} {}", out.empty() ? "" : ", ", state_label(state), rows);
    }
  }
  return out;
}

bool has_gm25(const CurveFit& fit) {
  return std::any_of(fit.at25.begin(), fit.at25.end(),
                     [](const At25& moved) { return moved.symbol == "gm25"; });
}

std::string at25_text(const CurveFit& fit, std::string_view symbol) {
  for (const Estimate* e : estimates_of(fit)) {
    if (e->symbol + "25" != symbol) continue;
    if (e->status != Status::estimated && e->status != Status::fixed) continue;
    for (const At25& moved : fit.at25) {
      if (moved.symbol == symbol && moved.value) {
        return fixed_text(*moved.value, estimate_decimals(*e));
      }
    }
  }
  return "";
}

std::string curve_text(const Curve& curve, const CurveFit& fit) {
  std::string out = fit.curve_id + "\n";
  const std::string& file = curve_file(curve);
  out += wrapped((file.empty() ? "" : file + ": ") +
                     fmt::format("{} of {} used, Tleaf {:.1f} degC, Patm {:.1f} kPa", fit.points,
                                 counted(curve.rows.size(), "row"), fit.Tleaf, fit.Patm),
                 2);
  out += "\n" + estimates_table(fit);
  out += "\n";
  out += wrapped("rows limited by " + states_text(fit) + transitions_text(fit), 2, 2);
  out += wrapped(residuals_text(fit), 2, 2);
  if (fit.weighting) out += wrapped(weights_text(fit), 2, 2);
  if (fit.dark) out += wrapped(dark_text(*fit.dark), 2, 2);
  if (fit.light) out += wrapped(light_text(*fit.light), 2, 2);
  if (fit.empirical) out += wrapped(empirical_text(*fit.empirical), 2, 2);
  out += operating_words(fit) + drift_words(fit);
  out += wrapped((fit.certified ? "certified: " : "") + fit.certificate, 2, 2);
  if (fit.runner_up) out += wrapped(alternative_text(*fit.runner_up, fit), 2, 2);
  if (fit.other_set) {
    out += wrapped(alternative_text(*fit.other_set, fit) +
                       (fit.f_test_p ? ", F test p " + print_rounded(*fit.f_test_p, 2) : ""),
                   2, 2);
  }
  const std::string budget = budget_table(fit);
  return budget.empty() ? out : out + "\n" + budget;
}

}  // namespace leafwright
