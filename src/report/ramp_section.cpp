#include "report/ramp_section.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "figure/pair_panel.hpp"
#include "figure/path_panel.hpp"
#include "figure/ramp_panel.hpp"
#include "report/html.hpp"
#include "report/ramp_report.hpp"

namespace leafwright {
namespace {

std::string with_se(const std::optional<WithError>& value, int digits) {
  if (!value) return "not known";
  return print_rounded(value->value, digits) + " ± " + print_rounded(value->se, 2);
}

std::string number_or_empty(const std::optional<double>& value, int digits) {
  return value ? print_rounded(*value, digits) : "";
}

std::string paths_table(const RunDocument& run) {
  HtmlTable t{
      "Gas paths, from records of the empty chamber: the lag of CO2s behind CO2r, its split, "
      "and the offset of the two cells (x = CO2r/1000)",
      {"path", "records", "lag, s", "dead time, s", "mixing, s", "offset at x = 0", "per x",
       "per x²"},
      {false, false, true, true, true, true, true, true},
      {}};
  for (const PathOutcome& outcome : run.paths) {
    if (!outcome.path) {
      t.rows.push_back({outcome.name, join(outcome.records), outcome.failed, "", "", "", "", ""});
      continue;
    }
    const GasPath& path = *outcome.path;
    t.rows.push_back({outcome.name, join(outcome.records), with_se(path.lag_s, 4),
                      with_se(path.delay_s, 3), with_se(path.mixing_s, 3),
                      print_rounded(path.offset[0], 3), print_rounded(path.offset[1], 3),
                      print_rounded(path.offset[2], 3)});
  }
  return html_table(t);
}

Result<std::string> path_figures(const PathOutcome& outcome) {
  std::string out;
  for (std::size_t i = 0; i < outcome.path->traces.size(); ++i) {
    auto svg = path_panel(*outcome.path, i, outcome.verdict);
    if (!svg) return svg;
    out += "<section><h3>" + html_escaped(outcome.path->traces[i].record) + "</h3>\n<figure>" +
           *svg + "</figure>\n</section>\n";
  }
  return out;
}

std::string ramps_table(const RunDocument& run) {
  HtmlTable t{"Ramps, and how each was corrected",
              {"ramp", "direction", "correction", "gas path", "lag, s", "time constant, s",
               "rate x that", "rows kept", "of", "offset"},
              {false, false, false, false, true, true, true, true, true, false},
              {}};
  for (const RampOutcome& outcome : run.ramps) {
    if (!outcome.ramp) {
      t.rows.push_back({outcome.name, "", "not corrected: " + outcome.failed, outcome.path, "", "",
                        "", "", "", ""});
      continue;
    }
    const CorrectedRamp& ramp = *outcome.ramp;
    const CorrectionUsed& used = ramp.used;
    t.rows.push_back({outcome.name, ramp_direction(ramp.ends), correction_name(used.method),
                      outcome.path, number_or_empty(used.lag_s, 4), number_or_empty(used.tau_s, 4),
                      print_rounded(used.r_tau, 3), std::to_string(ramp.kept()),
                      std::to_string(ramp.A.size()),
                      used.offset_removed ? "removed" : "not removed"});
  }
  return html_table(t);
}

std::string findings(const CorrectedRamp& ramp) {
  std::string out;
  for (const ConditionFinding& finding : ramp.conditions.findings) {
    if (finding.level == ConditionLevel::ok) continue;
    out += "<li class=\"note-warning\">" + html_escaped(finding.text) + "</li>\n";
  }
  for (const std::string& end : ramp_ends_texts(ramp.ends)) {
    out += "<li>" + html_escaped(end) + "</li>\n";
  }
  return out.empty() ? out : "<ul>\n" + out + "</ul>\n";
}

Result<std::string> ramp_figures(const RunDocument& run) {
  std::string out;
  for (const RampOutcome& outcome : run.ramps) {
    if (!outcome.ramp) continue;
    auto svg = ramp_panel(outcome.name, *outcome.ramp, outcome.plain.get());
    if (!svg) return svg;
    out += "<section><h3>" + html_escaped(outcome.name) + "</h3>\n<figure>" + *svg + "</figure>\n" +
           findings(*outcome.ramp) + "</section>\n";
  }
  return out;
}

std::string pairs_table(const RunDocument& run) {
  if (run.pairs.empty()) return "";
  HtmlTable t{"An up and a down ramp of one leaf, fitted together",
              {"pair", "own lag of the leaf, s", "from", "to", "taken out, s",
               "A down against up, %", "symmetry, p"},
              {false, true, true, true, true, true, true},
              {}};
  for (const PairOutcome& outcome : run.pairs) {
    if (!outcome.pair) {
      t.rows.push_back({outcome.name, outcome.failed, "", "", "", "", ""});
      continue;
    }
    const RampPair& pair = *outcome.pair;
    t.rows.push_back({outcome.name, with_se(WithError{pair.lag_s, pair.lag_se}, 3),
                      print_rounded(pair.lag_low, 3), print_rounded(pair.lag_high, 3),
                      print_rounded(pair.removed_s, 3),
                      with_se(WithError{100 * pair.level, 100 * pair.level_se}, 2),
                      print_rounded(pair.symmetry_p, 2)});
  }
  return html_table(t);
}

Result<std::string> pair_figures(const RunDocument& run) {
  std::string out;
  for (const PairOutcome& outcome : run.pairs) {
    if (!outcome.pair) continue;
    std::vector<const CorrectedRamp*> ramps;
    for (const auto& ramp : outcome.corrected) ramps.push_back(ramp.get());
    auto svg = pair_panel(outcome.name, ramps, *outcome.pair);
    if (!svg) return svg;
    out += "<section><h3>" + html_escaped(outcome.name) + "</h3>\n<figure>" + *svg + "</figure>\n" +
           html_notes(outcome.pair->notes) + "</section>\n";
  }
  return out;
}

}  // namespace

Result<std::string> ramp_section(const RunDocument& run) {
  if (run.paths.empty() && run.ramps.empty()) return std::string();
  std::string out = "<h2 id=\"ramps\">Gas path and ramps</h2>\n";
  if (!run.paths.empty()) out += paths_table(run);
  for (const PathOutcome& outcome : run.paths) {
    if (!outcome.path) continue;
    out += "<p>" + html_escaped(outcome.name + ": " + outcome.verdict) + "</p>\n" +
           html_notes(outcome.path->notes);
  }
  if (!run.ramps.empty()) out += ramps_table(run) + pairs_table(run);
  out += "<div class=\"curves\">\n";
  for (const PathOutcome& outcome : run.paths) {
    if (!outcome.path) continue;
    auto figures = path_figures(outcome);
    if (!figures) return figures;
    out += *figures;
  }
  auto ramps = ramp_figures(run);
  if (!ramps) return ramps;
  auto pairs = pair_figures(run);
  if (!pairs) return pairs;
  return out + *ramps + *pairs + "</div>\n";
}

}  // namespace leafwright
