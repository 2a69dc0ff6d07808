// Differences of A between rows at nearly the same Ci.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "base/number.hpp"
#include "stats/agreement_parts.hpp"

namespace leafwright {
namespace {

/// Nearest first; every row enters once.
std::vector<PointPair> pair_rows(const LeafPair& pair, std::size_t index, double within) {
  const auto& a = pair.curve[0];
  const auto& b = pair.curve[1];
  std::vector<std::tuple<double, std::size_t, std::size_t>> near;
  for (std::size_t i = 0; i < a.points.size(); ++i) {
    for (std::size_t k = 0; k < b.points.size(); ++k) {
      const double gap = std::abs(a.points[i].Ci - b.points[k].Ci);
      if (gap <= within) near.emplace_back(gap, i, k);
    }
  }
  std::sort(near.begin(), near.end());
  std::vector<bool> used_a(a.points.size()), used_b(b.points.size());
  std::vector<PointPair> out;
  for (const auto& [gap, i, k] : near) {
    if (used_a[i] || used_b[k]) continue;
    used_a[i] = used_b[k] = true;
    out.push_back({index, a.rows[i], b.rows[k], a.points[i].Ci, b.points[k].Ci,
                   a.points[i].A - b.points[k].A});
  }
  std::sort(out.begin(), out.end(),
            [](const PointPair& x, const PointPair& y) { return x.Ci_first < y.Ci_first; });
  return out;
}

LeafValue leaf_mean(std::size_t index, const std::vector<PointPair>& pairs,
                    const AgreementRules& rules, const LeafPair& leaf) {
  LeafValue out;
  out.pair = index;
  if (pairs.empty()) {
    const bool rows = !leaf.curve[0].points.empty() && !leaf.curve[1].points.empty();
    out.why_not = rows ? fmt::format("no rows within {} umol mol-1 of each other",
                                     print_rounded(rules.pair_within, 4))
                       : std::string("rows are not known for both methods");
    return out;
  }
  double sum = 0;
  for (const PointPair& p : pairs) sum += p.difference;
  out.difference = sum / static_cast<double>(pairs.size());
  return out;
}

}  // namespace

void compare_points(const AgreementInput& input, const AgreementRules& rules,
                    AgreementResult& result) {
  const std::vector<std::size_t> units = units_of(input);
  Comparison c;
  c.symbol = "A";
  c.unit = "umol m-2 s-1";
  c.on_logs = false;
  std::vector<PairedDifference> differences;
  for (std::size_t i = 0; i < input.pairs.size(); ++i) {
    if (!takes_part(input.pairs[i], rules)) continue;
    const std::vector<PointPair> pairs = pair_rows(input.pairs[i], i, rules.pair_within);
    c.leaves.push_back(leaf_mean(i, pairs, rules, input.pairs[i]));
    for (const PointPair& p : pairs) {
      differences.push_back({p.difference, units[i], {}});
      result.mean_Ci_gap += std::abs(p.Ci_first - p.Ci_second);
    }
    result.point_pairs.insert(result.point_pairs.end(), pairs.begin(), pairs.end());
  }
  if (differences.empty()) return;
  result.mean_Ci_gap /= static_cast<double>(differences.size());
  c.summary = summarise_pairs(differences, rules.level);
  if (rules.margin_A && c.summary->df) c.equivalence = judge(*c.summary, *rules.margin_A);
  c.verdict = verdict_words(c, input);
  result.points = std::move(c);
}

}  // namespace leafwright
