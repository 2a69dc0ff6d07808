#include "stats/agreement.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "stats/agreement_parts.hpp"

namespace leafwright {
namespace {

Result<void> check_rules(const AgreementRules& rules) {
  const auto bad = [](const std::string& what, const std::string& expected) {
    return fail(ErrorCode::usage, what, expected);
  };
  if (rules.margin && !(*rules.margin > 0 && *rules.margin <= 1)) {
    return bad(fmt::format("a margin of {} %", 100 * *rules.margin), "above 0, at most 100 %");
  }
  for (const auto& margin : {rules.margin_rday, rules.margin_A}) {
    if (margin && !(*margin > 0)) {
      return bad(fmt::format("a margin of {}", *margin), "above 0 umol m-2 s-1");
    }
  }
  if (!(rules.level > 0.5 && rules.level < 1)) {
    return bad(fmt::format("a level of {}", rules.level), "between 0.5 and 1");
  }
  if (!(rules.grid > 0 && rules.pair_within >= 0 && rules.local.window >= 0)) {
    return bad("a step or window of Ci that is not positive", "above 0 umol mol-1");
  }
  return {};
}

void note_exclusions(const AgreementInput& input, const AgreementRules& rules, Notes& notes) {
  for (const LeafPair& pair : input.pairs) {
    if (pair.excluded.empty()) continue;
    notes.push_back(
        {NoteLevel::info, "leaf-excluded",
         fmt::format("leaf '{}' is {}: {}", pair.leaf,
                     rules.honour_exclusions ? "left out" : "let in again", pair.excluded)});
  }
}

void note_plants(const AgreementInput& input, Notes& notes) {
  if (!input.plants_known) {
    notes.push_back(
        {NoteLevel::caution, "plants-unknown",
         "no column of plants was named (--plant): every leaf counts as a plant of its own. If "
         "several leaves are of one plant, the intervals and P values are too small"});
  }
}

/// Are the parameters those moved to 25 degC?
bool moved_to_25(const AgreementInput& input) {
  for (const LeafPair& pair : input.pairs) {
    for (const MeasuredParameter& p : pair.curve[0].parameters) return p.symbol.ends_with("25");
  }
  return false;
}

void note_temperature(const AgreementInput& input, Notes& notes) {
  double most = 0;
  std::string leaf;
  for (const LeafPair& pair : input.pairs) {
    if (!pair.curve[0].Tleaf || !pair.curve[1].Tleaf) continue;
    const double apart = std::abs(*pair.curve[0].Tleaf - *pair.curve[1].Tleaf);
    if (apart > most) most = apart, leaf = pair.leaf;
  }
  if (most > 0.5) {
    notes.push_back({NoteLevel::caution, "leaf-temperatures-differ",
                     fmt::format("leaf '{}' was {} K warmer by one method than by the other: {}",
                                 leaf, print_rounded(most, 2),
                                 moved_to_25(input)
                                     ? "parameters were moved to 25 degC, but A was not: part of "
                                       "the differences of points and curves is temperature"
                                     : "part of a difference may be temperature (--values 25 "
                                       "compares values moved to 25 degC)")});
  }
}

}  // namespace

std::string shown_difference(double value, bool on_logs) {
  if (!std::isfinite(value)) return "";
  if (on_logs) return fmt::format("{:+.1f} %", 100 * std::expm1(value));
  return fmt::format("{:+.3g}", value);
}

std::vector<std::size_t> units_of(const AgreementInput& input) {
  std::vector<std::string> names;
  std::vector<std::size_t> out;
  for (const LeafPair& pair : input.pairs) {
    const std::string& name = input.plants_known ? pair.plant : pair.leaf;
    const auto at = std::find(names.begin(), names.end(), name);
    out.push_back(static_cast<std::size_t>(at - names.begin()));
    if (at == names.end()) names.push_back(name);
  }
  return out;
}

const char* unit_name(const AgreementInput& input, bool many) {
  if (input.plants_known) return many ? "plants" : "plant";
  return many ? "leaves" : "leaf";
}

bool takes_part(const LeafPair& pair, const AgreementRules& rules) {
  return pair.excluded.empty() || !rules.honour_exclusions;
}

Equivalence judge(const PairedSummary& summary, double margin) {
  Equivalence out;
  out.margin = margin;
  if (!summary.df) return out;
  const EquivalenceTest test = test_equivalence(summary.mean, *summary.se, *summary.df, margin);
  out.p_equivalent = test.p_equivalent;
  out.p_beyond = test.p_beyond;
  out.verdict = verdict_of(test.p_equivalent, test.p_beyond);
  const double sd = *summary.se * std::sqrt(static_cast<double>(summary.plants));
  if (!(sd > 0)) {
    out.power = 1;
    out.needed = 2;
    return out;
  }
  out.power = tost_power(summary.plants, sd, margin);
  out.needed = pairs_needed(sd, margin);
  return out;
}

std::string verdict_words(const Comparison& c, const AgreementInput& input) {
  if (!c.summary) return "nothing to compare: no leaf has a value by both methods";
  if (!c.summary->df) {
    return fmt::format("not shown either way: one {} has no scatter to judge by",
                       unit_name(input, false));
  }
  const std::optional<double> p = c.p_holm ? c.p_holm : c.summary->p;
  const bool shown = p && *p <= 0.05;
  if (!c.equivalence) {
    return shown ? "a difference is shown; no margin was stated, so whether it matters is not said"
                 : "no difference is shown, which is not agreement; no margin was stated, so "
                   "nothing is said about equivalence";
  }
  const Equivalence& e = *c.equivalence;
  std::string out = verdict_text(e.verdict);
  if (e.verdict != Verdict::not_shown) {
    if (e.verdict == Verdict::equivalent && shown) {
      out += ", though a difference smaller than that is shown";
    }
    if (c.summary->plants >= band_minimum) return out;
    return out + fmt::format(", from {} {} only, whose scatter says little of others",
                             c.summary->plants, unit_name(input, true));
  }
  const std::string needed = e.needed ? fmt::format("{} {} would show it with a chance of 0.8",
                                                    *e.needed, unit_name(input, true))
                                      : std::string("more than 10000 would be needed");
  out += fmt::format(
      ": with {} {} of this scatter, methods that agree exactly would be shown to "
      "with a chance of {:.2f}; {}",
      c.summary->plants, unit_name(input, c.summary->plants != 1), e.power, needed);
  if (shown) out += ". A difference is shown, but not that it is within or beyond the margin";
  return out;
}

Result<AgreementResult> analyse_agreement(const AgreementInput& input,
                                          const AgreementRules& rules) {
  if (auto ok = check_rules(rules); !ok) return fail(ok.error());
  const bool any = std::any_of(input.pairs.begin(), input.pairs.end(),
                               [&](const LeafPair& pair) { return takes_part(pair, rules); });
  if (!any) {
    return fail(ErrorCode::unfit, "no leaf to compare",
                "at least one leaf with a curve by both methods that is not left out");
  }
  AgreementResult out;
  note_exclusions(input, rules, out.notes);
  note_plants(input, out.notes);
  note_temperature(input, out.notes);
  out.parameters = compare_parameters(input, rules);
  judge_parameters(out.parameters, input, rules);
  compare_points(input, rules, out);
  out.curves = compare_curves(input, rules);
  return out;
}

}  // namespace leafwright
