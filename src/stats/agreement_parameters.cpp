// Paired parameters: which leaves have both values, the order of methods, Holm within the family.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "stats/agreement_parts.hpp"

namespace leafwright {
namespace {

/// Rday may be 0 or negative: its differences are compared, not ratios.
bool has_ratio(const std::string& symbol) {
  return !symbol.starts_with("Rday");
}

const MeasuredParameter* find(const MethodCurve& curve, const std::string& symbol) {
  for (const MeasuredParameter& p : curve.parameters) {
    if (p.symbol == symbol) return &p;
  }
  return nullptr;
}

std::string why_no_value(const MethodCurve& curve, const MeasuredParameter* p, bool on_logs) {
  if (!curve.failed.empty()) return curve.failed;
  if (p == nullptr) return "the fit has no such parameter";
  if (!p->value) return p->why_not.empty() ? "no value" : p->why_not;
  if (on_logs && !(*p->value > 0)) {
    return fmt::format("{} is not positive, so it has no logarithm", print_rounded(*p->value, 4));
  }
  return "";
}

LeafValue leaf_value(const LeafPair& pair, std::size_t index, const std::string& symbol,
                     bool on_logs, const AgreementInput& input) {
  LeafValue out;
  out.pair = index;
  std::array<const MeasuredParameter*, 2> p{};
  for (std::size_t k = 0; k < 2; ++k) {
    p[k] = find(pair.curve[k], symbol);
    const std::string why = why_no_value(pair.curve[k], p[k], on_logs);
    if (!why.empty()) {
      out.why_not += (out.why_not.empty() ? "" : "; ") + input.methods[k] + ": " + why;
    } else {
      (k == 0 ? out.first : out.second) = p[k]->value;
    }
  }
  if (!out.first || !out.second) return out;
  out.difference = on_logs ? std::log(*out.first / *out.second) : *out.first - *out.second;
  if (p[0]->se && p[1]->se) {
    out.se = on_logs ? std::hypot(*p[0]->se / *out.first, *p[1]->se / *out.second)
                     : std::hypot(*p[0]->se, *p[1]->se);
  }
  return out;
}

std::string unit_of(const AgreementInput& input, const std::string& symbol) {
  for (const LeafPair& pair : input.pairs) {
    for (const MethodCurve& curve : pair.curve) {
      if (const MeasuredParameter* p = find(curve, symbol)) return p->unit;
    }
  }
  return "";
}

std::vector<std::string> symbols_of(const AgreementInput& input) {
  std::vector<std::string> out;
  for (const LeafPair& pair : input.pairs) {
    for (const MethodCurve& curve : pair.curve) {
      for (const MeasuredParameter& p : curve.parameters) {
        if (std::find(out.begin(), out.end(), p.symbol) == out.end()) out.push_back(p.symbol);
      }
    }
  }
  return out;
}

OrderEffect order_effect(const Comparison& c, const AgreementInput& input, double level) {
  OrderEffect out;
  std::vector<double> when_first, when_second;
  for (const LeafValue& leaf : c.leaves) {
    const LeafPair& pair = input.pairs[leaf.pair];
    if (!leaf.difference || !pair.curve[0].order || !pair.curve[1].order) continue;
    if (*pair.curve[0].order == *pair.curve[1].order) continue;
    const bool first = *pair.curve[0].order < *pair.curve[1].order;
    (first ? when_first : when_second).push_back(*leaf.difference);
  }
  out.first_first = when_first.size();
  out.second_first = when_second.size();
  if (when_first.empty() != when_second.empty()) {
    out.text = fmt::format(
        "{} came first on all {}: what the order does cannot be told from what the methods do",
        input.methods[when_first.empty() ? 1 : 0],
        counted(when_first.size() + when_second.size(), "leaf", "leaves"));
    return out;
  }
  out.test = welch_test(when_first, when_second, level);
  if (!out.test) {
    out.text = fmt::format("order known for {} and {} leaves: at least 2 of each are needed",
                           when_first.size(), when_second.size());
    return out;
  }
  const WelchTest& t = *out.test;
  const auto shown = [&](double v) { return shown_difference(v, c.on_logs); };
  out.text = fmt::format(
      "where {} came first ({} leaves) the difference is {} from where {} did "
      "({}): {} to {}, P = {}",
      input.methods[0], when_first.size(), shown(t.difference), input.methods[1],
      when_second.size(), shown(t.low), shown(t.high), print_rounded(t.p, 2));
  return out;
}

void note_noise(Comparison& c) {
  if (!c.noise) {
    c.notes.push_back({NoteLevel::info, "fit-noise-unknown",
                       "fewer than two leaves have standard errors by both methods: noise of the "
                       "fits cannot be told from disagreement"});
    return;
  }
  const FitNoise& n = *c.noise;
  const auto shown = [&](double sd) {
    return c.on_logs ? fmt::format("{:.1f} %", 100 * sd) : print_rounded(sd, 2);
  };
  const std::string p = print_rounded(n.p, 2);
  if (!n.sd_beyond) {
    c.notes.push_back({NoteLevel::info, "fit-noise-explains-all",
                       fmt::format("the fits' own errors (SD {}) explain all of the scatter of "
                                   "the differences (SD {}; Q test P = {})",
                                   shown(n.sd_fit), shown(n.sd_observed), p)});
  } else if (n.p > 0.05) {
    c.notes.push_back({NoteLevel::info, "scatter-beyond-fit-noise-not-shown",
                       fmt::format("scatter beyond the fits' own errors is not shown (SD {}, of "
                                   "which fits {}; Q test P = {})",
                                   shown(n.sd_observed), shown(n.sd_fit), p)});
  } else {
    c.notes.push_back({NoteLevel::info, "scatter-beyond-fit-noise",
                       fmt::format("of the scatter (SD {}) the fits' own errors make up {}; {} is "
                                   "disagreement that changes from leaf to leaf (Q test P = {})",
                                   shown(n.sd_observed), shown(n.sd_fit), shown(*n.sd_beyond), p)});
  }
}

void note_missing(Comparison& c, const AgreementInput& input) {
  std::vector<std::string> missing;
  for (const LeafValue& leaf : c.leaves) {
    if (!leaf.difference)
      missing.push_back(input.pairs[leaf.pair].leaf + " (" + leaf.why_not + ")");
  }
  if (missing.empty()) return;
  c.notes.push_back(
      {NoteLevel::caution, "leaves-without-a-value",
       fmt::format("{} of {} not compared, which may bias what is left: {}", missing.size(),
                   counted(c.leaves.size(), "leaf", "leaves"), join(missing, "; ", 12))});
}

void note_small(Comparison& c, const AgreementInput& input) {
  const std::size_t n = c.summary->plants;
  if (!c.signed_rank && n < signed_rank_minimum) {
    c.notes.push_back({NoteLevel::info, "no-signed-rank-test",
                       fmt::format("a signed-rank test needs {} {} (there are {}): with fewer no "
                                   "outcome can reach P = 0.05",
                                   signed_rank_minimum, unit_name(input, true), n)});
  }
  if (!c.summary->limits) {
    c.notes.push_back(
        {NoteLevel::info, "no-limits",
         fmt::format("limits of agreement need 3 {} (there are {})", unit_name(input, true), n)});
  } else if (n < 10) {
    c.notes.push_back({NoteLevel::caution, "limits-from-few",
                       fmt::format("limits of agreement from {} {}: their own intervals, beside "
                                   "them, are the honest answer",
                                   n, unit_name(input, true))});
  }
}

Comparison compare_one(const std::string& symbol, const AgreementInput& input,
                       const std::vector<std::size_t>& units, const AgreementRules& rules) {
  Comparison c;
  c.symbol = symbol;
  c.unit = unit_of(input, symbol);
  c.on_logs = has_ratio(symbol);
  std::vector<PairedDifference> pairs;
  for (std::size_t i = 0; i < input.pairs.size(); ++i) {
    if (!takes_part(input.pairs[i], rules)) continue;
    LeafValue leaf = leaf_value(input.pairs[i], i, symbol, c.on_logs, input);
    if (leaf.difference) {
      PairedDifference pair{*leaf.difference, units[i], {}};
      if (leaf.se) pair.fit_variance = *leaf.se * *leaf.se;
      pairs.push_back(pair);
    }
    c.leaves.push_back(std::move(leaf));
  }
  note_missing(c, input);
  if (pairs.empty()) return c;
  c.summary = summarise_pairs(pairs, rules.level);
  c.noise = fit_noise(pairs);
  c.signed_rank = signed_rank(plant_means(pairs));
  if (input.order_known) c.order = order_effect(c, input, rules.level);
  note_noise(c);
  note_small(c, input);
  return c;
}

}  // namespace

std::vector<Comparison> compare_parameters(const AgreementInput& input,
                                           const AgreementRules& rules) {
  const std::vector<std::size_t> units = units_of(input);
  std::vector<Comparison> out;
  for (const std::string& symbol : symbols_of(input)) {
    out.push_back(compare_one(symbol, input, units, rules));
  }
  return out;
}

void judge_parameters(std::vector<Comparison>& parameters, const AgreementInput& input,
                      const AgreementRules& rules) {
  std::vector<Comparison*> family;
  std::vector<double> p, p_equivalent, p_beyond;
  for (Comparison& c : parameters) {
    if (!c.summary || !c.summary->df) continue;
    std::optional<double> margin = rules.margin_rday;
    if (c.on_logs) margin = rules.margin ? std::optional(std::log1p(*rules.margin)) : std::nullopt;
    if (margin) c.equivalence = judge(*c.summary, *margin);
    std::string plain =
        c.symbol.ends_with("25") ? c.symbol.substr(0, c.symbol.size() - 2) : c.symbol;
    c.in_family = std::find(rules.family.begin(), rules.family.end(), plain) != rules.family.end();
    if (!c.in_family) continue;
    family.push_back(&c);
    p.push_back(c.summary->p.value_or(1));
    p_equivalent.push_back(c.equivalence ? c.equivalence->p_equivalent : 1);
    p_beyond.push_back(c.equivalence ? c.equivalence->p_beyond : 1);
  }
  const auto h = holm(p), h_equivalent = holm(p_equivalent), h_beyond = holm(p_beyond);
  for (std::size_t i = 0; i < family.size(); ++i) {
    family[i]->p_holm = h[i];
    if (!family[i]->equivalence) continue;
    Equivalence& e = *family[i]->equivalence;
    e.p_equivalent_holm = h_equivalent[i];
    e.p_beyond_holm = h_beyond[i];
    e.verdict = verdict_of(h_equivalent[i], h_beyond[i]);
  }
  for (Comparison& c : parameters) c.verdict = verdict_words(c, input);
}

}  // namespace leafwright
