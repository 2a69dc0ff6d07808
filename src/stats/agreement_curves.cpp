// The difference of A at equal Ci, leaf by leaf and on the mean, each with a simultaneous band.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/number.hpp"
#include "base/random.hpp"
#include "base/text.hpp"
#include "stats/agreement_parts.hpp"

namespace leafwright {
namespace {

constexpr std::size_t most_leaf_draws = 1000;

bool two_places(const std::vector<RowPoint>& points) {
  return std::any_of(points.begin(), points.end(),
                     [&](const RowPoint& p) { return p.Ci != points.front().Ci; });
}

/// A minus the common reference.
LocalCurve beyond_reference(const LeafPair& pair, std::size_t method, const LocalRule& rule) {
  std::vector<RowPoint> points = pair.curve[method].points;
  const std::vector<double>& reference = pair.reference[method];
  for (std::size_t i = 0; i < points.size() && i < reference.size(); ++i) {
    points[i].A -= reference[i];
  }
  return {points, rule};
}

struct Place {
  std::vector<RowWeight> first, second;
  double se = 0;
};

/// The quantile of the largest |noise|/se along the leaf, from simulated noise of the rows.
double leaf_critical(const std::vector<Place>& places, const MethodCurve& a, const MethodCurve& b,
                     const AgreementRules& rules, const std::string& leaf) {
  std::vector<double> largest;
  std::vector<double> ea(a.points.size()), eb(b.points.size());
  const std::size_t draws = std::min(rules.resamples, most_leaf_draws);
  RandomStream draw(rules.seed, leaf, "agree-leaf-band");
  for (std::size_t r = 0; r < draws; ++r) {
    for (double& e : ea) e = *a.noise_sd * draw.normal();
    for (double& e : eb) e = *b.noise_sd * draw.normal();
    double most = 0;
    for (const Place& place : places) {
      double d = 0;
      for (const RowWeight& w : place.first) d += w.weight * ea[w.row];
      for (const RowWeight& w : place.second) d -= w.weight * eb[w.row];
      most = std::max(most, std::abs(d) / place.se);
    }
    largest.push_back(most);
  }
  std::sort(largest.begin(), largest.end());
  const auto at = static_cast<std::size_t>(rules.level * static_cast<double>(draws));
  return largest[std::min(at, draws - 1)];
}

double sum_of_squares(const std::vector<RowWeight>& weights) {
  double sum = 0;
  for (const RowWeight& w : weights) sum += w.weight * w.weight;
  return sum;
}

void add_leaf_band(LeafDifference& out, std::vector<Place>& places, const LeafPair& pair,
                   const AgreementRules& rules) {
  const MethodCurve& a = pair.curve[0];
  const MethodCurve& b = pair.curve[1];
  if (!a.noise_sd || !b.noise_sd || !(*a.noise_sd + *b.noise_sd > 0)) return;
  for (Place& place : places) {
    place.se = std::hypot(*a.noise_sd * std::sqrt(sum_of_squares(place.first)),
                          *b.noise_sd * std::sqrt(sum_of_squares(place.second)));
  }
  out.critical = leaf_critical(places, a, b, rules, pair.leaf);
  for (std::size_t k = 0; k < places.size(); ++k) {
    out.low.push_back(out.difference[k] - out.critical * places[k].se);
    out.high.push_back(out.difference[k] + out.critical * places[k].se);
  }
}

LeafDifference leaf_difference(const LeafPair& pair, std::size_t index,
                               const AgreementRules& rules) {
  LeafDifference out;
  out.pair = index;
  for (const MethodCurve& curve : pair.curve) {
    if (!two_places(curve.points)) {
      out.why_not = fmt::format("curve '{}' has no rows at two different Ci", curve.curve_id);
      return out;
    }
  }
  const LocalCurve a = beyond_reference(pair, 0, rules.local);
  const LocalCurve b = beyond_reference(pair, 1, rules.local);
  const double low = std::max(a.low(), b.low()), high = std::min(a.high(), b.high());
  std::vector<Place> places;
  for (double k = std::ceil(low / rules.grid); k * rules.grid <= high; ++k) {
    const double Ci = k * rules.grid;
    places.push_back({a.weights(Ci), b.weights(Ci), 0});
    out.Ci.push_back(Ci);
    out.difference.push_back(*a.at(Ci) - *b.at(Ci));
  }
  if (out.Ci.empty()) {
    out.why_not =
        fmt::format("no Ci in common on the grid of {} umol mol-1", print_rounded(rules.grid, 4));
    return out;
  }
  add_leaf_band(out, places, pair, rules);
  return out;
}

/// The places that all leaves have, and which leaf ends them.
void common_places(CurveLevel& level, const AgreementInput& input) {
  double low = -1e300, high = 1e300;
  std::string ends_low, ends_high;
  for (const LeafDifference& leaf : level.leaves) {
    if (leaf.Ci.empty()) continue;
    if (leaf.Ci.front() > low) low = leaf.Ci.front(), ends_low = input.pairs[leaf.pair].leaf;
    if (leaf.Ci.back() < high) high = leaf.Ci.back(), ends_high = input.pairs[leaf.pair].leaf;
  }
  for (const LeafDifference& leaf : level.leaves) {
    if (leaf.Ci.empty()) continue;
    for (const double Ci : leaf.Ci) {
      if (Ci >= low && Ci <= high) level.Ci.push_back(Ci);
    }
    break;
  }
  if (level.Ci.empty() && !ends_low.empty()) {
    level.notes.push_back(
        {NoteLevel::caution, "no-common-range",
         fmt::format("no Ci is common to all leaves: leaf '{}' begins at {}, "
                     "leaf '{}' ends at {} umol mol-1; leave one out to compare "
                     "the mean",
                     ends_low, print_rounded(low, 4), ends_high, print_rounded(high, 4))});
  } else if (!level.Ci.empty()) {
    level.notes.push_back(
        {NoteLevel::info, "common-range",
         fmt::format("the mean is over Ci {} to {} umol mol-1, which all leaves "
                     "have by both methods (from leaf '{}' to leaf '{}')",
                     print_rounded(low, 4), print_rounded(high, 4), ends_low, ends_high)});
  }
}

/// One row a unit: the mean over its leaves at the common places.
std::vector<std::vector<double>> unit_rows(const CurveLevel& level,
                                           const std::vector<std::size_t>& units) {
  std::map<std::size_t, std::pair<std::vector<double>, double>> sums;
  for (const LeafDifference& leaf : level.leaves) {
    if (leaf.Ci.empty()) continue;
    auto& [sum, count] = sums[units[leaf.pair]];
    sum.resize(level.Ci.size());
    const auto first = static_cast<std::size_t>(
        std::find(leaf.Ci.begin(), leaf.Ci.end(), level.Ci.front()) - leaf.Ci.begin());
    for (std::size_t k = 0; k < level.Ci.size(); ++k) sum[k] += leaf.difference[first + k];
    ++count;
  }
  std::vector<std::vector<double>> out;
  for (auto& [unit, entry] : sums) {
    for (double& v : entry.first) v /= entry.second;
    out.push_back(std::move(entry.first));
  }
  return out;
}

void judge_curves(CurveLevel& level, const AgreementRules& rules) {
  if (!level.band) {
    level.verdict = "not shown either way: there is no band";
    return;
  }
  bool inside = true, beyond = false;
  for (std::size_t k = 0; k < level.Ci.size(); ++k) {
    const double low = level.band->low[k], high = level.band->high[k];
    if (low > 0 || high < 0) level.zero_outside.push_back(level.Ci[k]);
    if (!rules.margin_A) continue;
    inside = inside && low > -*rules.margin_A && high < *rules.margin_A;
    beyond = beyond || low > *rules.margin_A || high < -*rules.margin_A;
  }
  const std::string where =
      level.zero_outside.empty()
          ? "nowhere leaves 0 out, which is not agreement"
          : fmt::format("leaves 0 out at {} of {} places (Ci {} to {})", level.zero_outside.size(),
                        level.Ci.size(), print_rounded(level.zero_outside.front(), 4),
                        print_rounded(level.zero_outside.back(), 4));
  if (!rules.margin_A) {
    level.verdict = "the band " + where + "; no margin of A was stated (--margin-a)";
    return;
  }
  const Verdict verdict =
      inside ? Verdict::equivalent : (beyond ? Verdict::different : Verdict::not_shown);
  level.verdict = std::string(verdict_text(verdict)) + ": the band " + where;
}

}  // namespace

CurveLevel compare_curves(const AgreementInput& input, const AgreementRules& rules) {
  CurveLevel out;
  for (std::size_t i = 0; i < input.pairs.size(); ++i) {
    if (takes_part(input.pairs[i], rules)) {
      out.leaves.push_back(leaf_difference(input.pairs[i], i, rules));
    }
  }
  common_places(out, input);
  if (out.Ci.empty()) {
    out.verdict = "nothing to compare: no Ci is common to all leaves";
    return out;
  }
  auto rows = unit_rows(out, units_of(input));
  if (input.plants_known && rows.size() < band_minimum) {
    AgreementInput leaves_only;
    leaves_only.pairs = input.pairs;
    auto leaves = unit_rows(out, units_of(leaves_only));
    if (leaves.size() >= band_minimum) {
      out.notes.push_back(
          {NoteLevel::caution, "leaves-resampled",
           fmt::format("{} are too few to resample: leaves were, so the band is about these "
                       "plants and not about others",
                       counted(rows.size(), "plant"))});
      rows = std::move(leaves);
    }
  }
  out.units = rows.size();
  out.mean.assign(out.Ci.size(), 0);
  for (const auto& row : rows) {
    for (std::size_t k = 0; k < row.size(); ++k) {
      out.mean[k] += row[k] / static_cast<double>(rows.size());
    }
  }
  out.band = mean_band(rows, rules.resamples, rules.seed, "agree-mean-band", rules.level);
  if (!out.band) {
    out.notes.push_back(
        {NoteLevel::caution, "no-band",
         fmt::format("a band needs {} leaves; there are {}", band_minimum, rows.size())});
  }
  judge_curves(out, rules);
  return out;
}

}  // namespace leafwright
