// How gsw changed during a curve, in every output.
#include <fmt/format.h>

#include <algorithm>

#include "base/number.hpp"
#include "report/curve_text.hpp"
#include "report/html.hpp"
#include "report/stomata_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

std::string percent(double share) {
  return fmt::format("{:+.1f} %", 100 * share);
}

std::string span_words(const GswDrift& d) {
  return d.timed ? print_rounded(d.span, 3) + " h" : print_rounded(d.span, 4) + " steps of rows";
}

std::string slope_words(const GswDrift& d) {
  return fmt::format("{:+.1f} % a {} (se {:.1f})", 100 * d.slope, d.timed ? "h" : "row",
                     100 * d.slope_se);
}

std::string row_word(const std::optional<std::size_t>& row) {
  return row ? std::to_string(*row) : "";
}

bool has_drift(const FitDocument& document) {
  const auto& fits = document.campaign->fits;
  return std::any_of(fits.begin(), fits.end(),
                     [](const CurveFit& fit) { return fit.gsw_drift.has_value(); });
}

}  // namespace

std::string drift_words(const CurveFit& fit) {
  if (!fit.gsw_drift) return "";
  const GswDrift& d = *fit.gsw_drift;
  std::string out =
      fmt::format("gsw {}: {} over {}, {}; {} first, {} last mmol m-2 s-1",
                  d.steady ? "steady" : "drifted", percent(d.change), span_words(d), slope_words(d),
                  print_rounded(d.first, 4), print_rounded(d.last, 4));
  if (!d.steady) return wrapped(out + " (see notes)", 2, 2);
  if (d.again) {
    out += fmt::format(", {} at the CO2 of the first row again (row {})", percent(*d.again),
                       *d.again_row);
  }
  out += fmt::format(
      "; 1 % of gsw moves Ci by up to {} umol mol-1; the first gsw held would move "
      "Ci by up to {} (row {})",
      print_rounded(d.Ci_per_percent, 2), percent(d.Ci_shift), d.Ci_shift_row);
  return wrapped(out, 2, 2);
}

std::string drift_section(const FitDocument& document) {
  if (!has_drift(document)) return "";
  HtmlTable t;
  t.caption = "gsw during each curve; called steady up to " + setting_text(document, "gsw-steady") +
              " % (common practice, no source)";
  t.heads = {"curve",
             "first",
             "last",
             "change",
             "slope",
             "at the same CO2",
             "1 % of gsw in Ci",
             "Ci, first gsw held",
             ""};
  t.numeric = {false, true, true, true, true, true, true, true, false};
  for (const CurveFit& fit : document.campaign->fits) {
    if (!fit.gsw_drift) continue;
    const GswDrift& d = *fit.gsw_drift;
    t.rows.push_back({fit.curve_id, print_rounded(d.first, 4), print_rounded(d.last, 4),
                      percent(d.change), slope_words(d), d.again ? percent(*d.again) : "",
                      print_rounded(d.Ci_per_percent, 2), percent(d.Ci_shift),
                      d.steady ? "steady" : "drifted"});
  }
  return "<h2 id=\"drift\">Stomata during the curves</h2>\n" + html_table(t) +
         "<p>gsw in mmol m-2 s-1; Ci in umol mol-1, its shift relative. Ci was computed from the "
         "gsw of each row, so that drift alone makes no point wrong. Stomata also answer to the "
         "CO2 of a curve; the change at the same CO2 is between the first row and the last one "
         "within 5 % of its CO2.</p>\n";
}

void write_gsw_drift(JsonWriter& json, const CurveFit& fit) {
  json.key("gsw_drift");
  if (!fit.gsw_drift) {
    json.null();
    return;
  }
  const GswDrift& d = *fit.gsw_drift;
  json.open_object().field("rows", d.rows).field("order", d.timed ? "time" : "rows");
  json.field("span", d.span).field("span_unit", d.timed ? "h" : "rows");
  json.field("first", d.first).field("last", d.last).field("unit", "mmol m-2 s-1");
  json.field("slope", d.slope).field("slope_se", d.slope_se);
  json.field("slope_unit", d.timed ? "h-1" : "row-1").field("change", d.change);
  json.field("steady", d.steady).field("change_at_first_CO2", d.again).key("row_at_first_CO2");
  if (d.again_row) {
    json.value(*d.again_row);
  } else {
    json.null();
  }
  json.field("Ci_per_percent_gsw", d.Ci_per_percent);
  json.field("Ci_per_percent_row", d.Ci_per_percent_row);
  json.field("Ci_shift_first_gsw", d.Ci_shift).field("Ci_shift_row", d.Ci_shift_row).close();
}

std::vector<StomataCell> drift_cells(const CurveFit& fit) {
  const bool there = fit.gsw_drift.has_value();
  const GswDrift none;
  const GswDrift& d = there ? *fit.gsw_drift : none;
  const auto number = [&](double value) { return there ? std::optional(value) : std::nullopt; };
  return {
      {"gsw_first",
       "mmol m-2 s-1",
       "gsw of the first row used, in order of time",
       number(d.first),
       {}},
      {"gsw_last", "mmol m-2 s-1", "gsw of the last row used", number(d.last), {}},
      {"gsw_change",
       "",
       "of the straight line through gsw, over the curve, relative to its mean",
       number(d.change),
       {}},
      {"gsw_slope", "h-1 or row-1", "of that line, relative to the mean", number(d.slope), {}},
      {"gsw_slope_se",
       "h-1 or row-1",
       "standard error, independent residuals",
       number(d.slope_se),
       {}},
      {"gsw_order",
       "",
       "time (slope per h) or rows (slope per row)",
       {},
       std::string(!there    ? ""
                   : d.timed ? "time"
                             : "rows")},
      {"gsw_state",
       "",
       "steady or drifted, by the setting gsw-steady",
       {},
       std::string(!there     ? ""
                   : d.steady ? "steady"
                              : "drifted")},
      {"gsw_change_at_first_CO2", "", "of the last row at the CO2 of the first one", d.again, {}},
      {"gsw_row_at_first_CO2", "", "that row, zero-based", {}, row_word(d.again_row)},
      {"Ci_per_percent_gsw",
       "umol mol-1",
       "what 1 % of gsw does to Ci, at most",
       number(d.Ci_per_percent),
       {}},
      {"Ci_shift_first_gsw",
       "",
       "(Ci with the first gsw held - Ci)/Ci, the largest",
       number(d.Ci_shift),
       {}},
  };
}

std::string drift_methods(const FitDocument& document) {
  if (!has_drift(document)) return "";
  const auto& fits = document.campaign->fits;
  const auto with = std::count_if(fits.begin(), fits.end(),
                                  [](const CurveFit& fit) { return fit.gsw_drift.has_value(); });
  const auto drifted = std::count_if(fits.begin(), fits.end(), [](const CurveFit& fit) {
    return fit.gsw_drift && !fit.gsw_drift->steady;
  });
  return fmt::format(
      "Stomatal conductance changed by more than {} % over {} of {} curves (straight line through "
      "gsw in order of time; the limit is common practice); Ci was computed from the gsw of each "
      "row, and no row was left out for it.",
      setting_text(document, "gsw-steady"), drifted, with);
}

}  // namespace leafwright
