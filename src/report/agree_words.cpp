#include "report/agree_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {
namespace {

std::string range(double low, double high, bool on_logs) {
  return shown_difference(low, on_logs) + " to " + shown_difference(high, on_logs);
}

std::string p_text(std::optional<double> p) {
  if (!p) return "";
  if (*p < 0.0001) return "< 0.0001";
  return print_rounded(*p, 2);
}

std::vector<std::string> summary_cells(const Comparison& c, bool plants_known) {
  if (!c.summary) return {c.symbol, "0"};
  const PairedSummary& s = *c.summary;
  std::vector<std::string> cells = {c.symbol, std::to_string(s.leaves),
                                    plants_known ? std::to_string(s.plants) : "",
                                    shown_difference(s.mean, c.on_logs)};
  cells.push_back(s.low ? range(*s.low, *s.high, c.on_logs) : "");
  cells.push_back(p_text(s.p));
  cells.push_back(c.in_family ? p_text(c.p_holm) : "");
  if (s.limits) {
    const auto& l = *s.limits;
    cells.push_back(range(l.lower.value, l.upper.value, c.on_logs));
    cells.push_back(range(l.lower.low, l.lower.high, c.on_logs));
    cells.push_back(range(l.upper.low, l.upper.high, c.on_logs));
  }
  return cells;
}

std::vector<std::string> leaf_cells(const AgreeDocument& d, std::size_t pair) {
  const LeafPair& leaf = d.input.pairs[pair];
  std::vector<std::string> cells = {leaf.leaf};
  if (d.input.plants_known) cells.push_back(leaf.plant);
  const auto shown = [](std::optional<double> v) {
    return v ? print_rounded(*v, 4) : std::string("-");
  };
  for (const Comparison& c : d.result.parameters) {
    for (const LeafValue& value : c.leaves) {
      if (value.pair != pair) continue;
      cells.push_back(shown(value.first));
      cells.push_back(shown(value.second));
      cells.push_back(value.difference
                          ? (c.on_logs ? fmt::format("{:.3f}", std::exp(*value.difference))
                                       : fmt::format("{:+.3g}", *value.difference))
                          : "-");
    }
  }
  if (!leaf.excluded.empty() && d.rules.honour_exclusions) cells.emplace_back("left out");
  return cells;
}

std::string equivalence_text(const Comparison& c) {
  const Equivalence& e = *c.equivalence;
  return fmt::format("margin {}; P equivalent {}, P beyond {}",
                     range(-e.margin, e.margin, c.on_logs),
                     p_text(e.p_equivalent_holm ? e.p_equivalent_holm : e.p_equivalent),
                     p_text(e.p_beyond_holm ? e.p_beyond_holm : e.p_beyond)) +
         (c.in_family ? " (Holm)" : " (not in the family: not adjusted)");
}

}  // namespace

std::string agree_heading(const AgreeDocument& d) {
  const std::size_t n = d.input.pairs.size();
  std::string out = fmt::format("{} against {} on {}", d.input.methods[0], d.input.methods[1],
                                counted(n, "leaf", "leaves"));
  if (d.input.plants_known) {
    std::set<std::string> plants;
    for (const LeafPair& pair : d.input.pairs) plants.insert(pair.plant);
    out += fmt::format(" of {}", counted(plants.size(), "plant"));
  }
  return out + fmt::format("; ratios are {0}/{1}, differences {0} - {1}", d.input.methods[0],
                           d.input.methods[1]);
}

std::string agree_margins(const AgreementRules& rules) {
  std::vector<std::string> stated;
  if (rules.margin) {
    stated.push_back(fmt::format("ratios {} %", print_rounded(100 * *rules.margin, 4)));
  }
  const auto add = [&](const std::optional<double>& margin, const char* what) {
    if (!margin) return;
    stated.push_back(fmt::format("{} {} umol m-2 s-1", what, print_rounded(*margin, 4)));
  };
  add(rules.margin_rday, "Rday");
  add(rules.margin_A, "A");
  if (stated.empty()) return "margin not stated: no verdict of equivalence is given";
  return "margin stated beforehand: " + join(stated);
}

std::string agree_family(const AgreementResult& result) {
  std::vector<std::string> names;
  for (const Comparison& c : result.parameters) {
    if (c.in_family) names.push_back(c.symbol);
  }
  return join(names);
}

AgreeTable agree_summary(const std::vector<Comparison>& parameters, bool plants_known,
                         double level) {
  AgreeTable out;
  out.heads = {"",
               "leaves",
               "plants",
               "mean",
               fmt::format("{} %", print_rounded(100 * level, 3)),
               "P",
               "P Holm",
               "limits of agreement",
               "lower limit",
               "upper limit"};
  out.numeric.assign(out.heads.size(), true);
  out.numeric.front() = false;
  for (const Comparison& c : parameters) {
    out.rows.push_back(summary_cells(c, plants_known));
    out.rows.back().resize(out.heads.size());
  }
  return out;
}

AgreeTable agree_leaves(const AgreeDocument& d, bool whole_heads) {
  AgreeTable out;
  const auto add = [&](std::string head, bool numeric) {
    out.heads.push_back(std::move(head));
    out.numeric.push_back(numeric);
  };
  add("leaf", false);
  if (d.input.plants_known) add("plant", false);
  for (const Comparison& c : d.result.parameters) {
    const std::string before = whole_heads ? c.symbol + " " : "";
    add(c.symbol + " " + d.input.methods[0], true);
    add(before + d.input.methods[1], true);
    add(before + (c.on_logs ? "ratio" : "difference"), true);
  }
  for (std::size_t i = 0; i < d.input.pairs.size(); ++i) out.rows.push_back(leaf_cells(d, i));
  return out;
}

AgreeTable agree_places(const CurveLevel& c) {
  AgreeTable out{{"Ci", "mean", "band"}, {true, true, true}, {}};
  const std::size_t step = std::max<std::size_t>(1, (c.Ci.size() + 11) / 12);
  for (std::size_t k = 0; k < c.Ci.size(); k += step) {
    out.rows.push_back({print_rounded(c.Ci[k], 5), shown_difference(c.mean[k], false),
                        c.band ? range(c.band->low[k], c.band->high[k], false) : ""});
  }
  return out;
}

std::vector<std::string> comparison_details(const Comparison& c) {
  std::vector<std::string> out;
  if (c.equivalence) out.push_back(equivalence_text(c));
  if (c.signed_rank) {
    out.push_back(fmt::format(
        "signed-rank test: P = {} (n = {}{})", p_text(c.signed_rank->p), c.signed_rank->n,
        c.signed_rank->zeros > 0 ? fmt::format(", {} zeros dropped", c.signed_rank->zeros) : ""));
  }
  if (c.order) out.push_back("order: " + c.order->text);
  for (const Note& note : c.notes) out.push_back(note.text);
  return out;
}

std::string order_missing(const AgreementInput& input) {
  if (input.order_known) return "";
  return "order: not given (--order COLUMN), so an effect of which method came first is part of "
         "every difference";
}

std::vector<std::string> points_findings(const AgreeDocument& d) {
  const std::string within = print_rounded(d.rules.pair_within, 4);
  if (!d.result.points) {
    return {"nothing to compare: no rows within " + within + " umol mol-1 of each other"};
  }
  const Comparison& c = *d.result.points;
  const PairedSummary& s = *c.summary;
  std::vector<std::string> out;
  out.push_back(fmt::format(
      "{} pairs of rows within {} umol mol-1 (on average {} apart): mean difference {} umol m-2 "
      "s-1",
      s.leaves, within, print_rounded(d.result.mean_Ci_gap, 2), shown_difference(s.mean, false)));
  if (s.low) out.back() += fmt::format(" ({})", range(*s.low, *s.high, false));
  if (s.limits) {
    out.push_back(fmt::format("limits of agreement of a pair {}; lower {}, upper {}",
                              range(s.limits->lower.value, s.limits->upper.value, false),
                              range(s.limits->lower.low, s.limits->lower.high, false),
                              range(s.limits->upper.low, s.limits->upper.high, false)));
  }
  out.push_back(c.verdict);
  return out;
}

std::vector<std::string> curves_findings(const AgreeDocument& d) {
  std::vector<std::string> out;
  const CurveLevel& c = d.result.curves;
  if (c.band) {
    out.push_back(
        fmt::format("simultaneous {} % band from {} units, {} resamples: mean +- {} SE "
                    "(one place alone: {})",
                    print_rounded(100 * d.rules.level, 3), c.units, c.band->resamples,
                    print_rounded(c.band->critical, 3), print_rounded(c.band->pointwise, 3)));
  }
  out.push_back(c.verdict);
  for (const Note& note : c.notes) out.push_back(note.text);
  for (const LeafDifference& leaf : c.leaves) {
    if (leaf.why_not.empty()) continue;
    out.push_back("leaf '" + d.input.pairs[leaf.pair].leaf + "': " + leaf.why_not);
  }
  return out;
}

std::string again_what(const AgreementAgain& again) {
  std::vector<std::string> what;
  if (again.rows) what.emplace_back("rows marked as unused");
  if (again.leaves) what.emplace_back("excluded leaves");
  return join(what, " and ");
}

}  // namespace leafwright
