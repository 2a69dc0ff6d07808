#include "stats/pool.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "numeric/distributions.hpp"
#include "numeric/roots.hpp"

namespace leafwright {
namespace {

std::vector<PoolValue> measured(std::span<const PoolValue> values, bool with_variance) {
  std::vector<PoolValue> out;
  for (const PoolValue& v : values) {
    if (v.bound != PoolBound::none || (with_variance && !v.variance)) continue;
    out.push_back(v);
  }
  return out;
}

/// Weighted sums at one tau2.
struct AtTau2 {
  double weight = 0, weight2 = 0, mean = 0, q = 0;
  double score = 0;  ///< of the restricted likelihood, times 2
};

AtTau2 at_tau2(const std::vector<PoolValue>& values, double tau2) {
  AtTau2 out;
  for (const PoolValue& v : values) {
    const double w = 1 / (*v.variance + tau2);
    out.weight += w;
    out.weight2 += w * w;
    out.mean += w * v.value;
  }
  out.mean /= out.weight;
  out.score = out.weight2 / out.weight - out.weight;
  for (const PoolValue& v : values) {
    const double w = 1 / (*v.variance + tau2), r = v.value - out.mean;
    out.q += w * r * r;
    out.score += w * w * r * r;
  }
  return out;
}

/// -2 ln of the restricted likelihood, without constants.
double deviance(const std::vector<PoolValue>& values, double tau2) {
  const AtTau2 at = at_tau2(values, tau2);
  double out = at.q + std::log(at.weight);
  for (const PoolValue& v : values) out += std::log(*v.variance + tau2);
  return out;
}

double sample_variance(const std::vector<PoolValue>& values) {
  double mean = 0, sum = 0;
  for (const PoolValue& v : values) mean += v.value / static_cast<double>(values.size());
  for (const PoolValue& v : values) sum += (v.value - mean) * (v.value - mean);
  return sum / static_cast<double>(values.size() - 1);
}

/// tau2 of the highest restricted likelihood. It may have several maxima: a grid finds the best.
double reml_tau2(const std::vector<PoolValue>& values) {
  const double scale = sample_variance(values);
  if (!(scale > 0)) return 0;
  constexpr int steps = 120;
  std::vector<double> grid{0};
  // From a millionth of the variance of the values up to a hundred times it.
  for (int i = 0; i <= steps; ++i) grid.push_back(scale * std::pow(10.0, -6 + 8.0 * i / steps));
  std::size_t best = 1;
  const bool zero_allowed =
      std::all_of(values.begin(), values.end(), [](const PoolValue& v) { return *v.variance > 0; });
  if (zero_allowed) best = 0;
  for (std::size_t i = best + 1; i < grid.size(); ++i) {
    if (deviance(values, grid[i]) < deviance(values, grid[best])) best = i;
  }
  if (best == 0 && at_tau2(values, 0).score <= 0) return 0;
  const double low = best == 0 ? 0 : grid[best - 1],
               high = grid[std::min(best + 1, grid.size() - 1)];
  const auto root = find_root([&](double tau2) { return at_tau2(values, tau2).score; }, low, high);
  return root ? root->x : grid[best];
}

/// Where Q falls to `target`; 0 where it is below that from the start, empty where it never is.
std::optional<double> q_reaches(const std::vector<PoolValue>& values, double target) {
  const auto excess = [&](double tau2) { return at_tau2(values, tau2).q - target; };
  const double scale = sample_variance(values);
  const double least = 1e-12 * scale;  // variances may be 0
  if (!(scale > 0) || excess(least) <= 0) return 0.0;
  double high = scale;
  for (int i = 0; i < 60 && excess(high) > 0; ++i) high *= 4;
  const auto root = find_root(excess, least, high);
  if (!root) return std::nullopt;
  return root->x;
}

}  // namespace

std::vector<PoolValue> average_units(std::span<const PoolValue> leaves) {
  struct Unit {
    PoolValue sum;
    double leaves = 0;
    bool lower = false, upper = false;
  };
  std::vector<Unit> units;
  for (const PoolValue& leaf : leaves) {
    auto at = std::find_if(units.begin(), units.end(),
                           [&](const Unit& unit) { return unit.sum.unit == leaf.unit; });
    if (at == units.end()) {
      units.push_back({{leaf.unit, 0, 0.0, PoolBound::none}, 0, false, false});
      at = units.end() - 1;
    }
    at->leaves += 1;
    at->sum.value += leaf.value;
    at->lower = at->lower || leaf.bound == PoolBound::lower;
    at->upper = at->upper || leaf.bound == PoolBound::upper;
    if (!leaf.variance) at->sum.variance.reset();
    if (at->sum.variance) *at->sum.variance += *leaf.variance;
  }
  std::vector<PoolValue> out;
  for (Unit& unit : units) {
    if (unit.lower && unit.upper) continue;
    unit.sum.value /= unit.leaves;
    if (unit.sum.variance) *unit.sum.variance /= unit.leaves * unit.leaves;
    if (unit.lower) unit.sum.bound = PoolBound::lower;
    if (unit.upper) unit.sum.bound = PoolBound::upper;
    out.push_back(std::move(unit.sum));
  }
  return out;
}

PooledMean pool_unweighted(std::span<const PoolValue> values, double level) {
  const std::vector<PoolValue> used = measured(values, false);
  if (used.empty()) throw std::logic_error("no value to pool");
  PooledMean out;
  out.units = used.size();
  const double n = static_cast<double>(used.size());
  for (const PoolValue& v : used) out.mean += v.value / n;
  if (used.size() < 2) return out;
  out.df = n - 1;
  out.sd = std::sqrt(sample_variance(used));
  out.se = *out.sd / std::sqrt(n);
  const double t = t_quantile(0.5 + level / 2, *out.df);
  out.low = out.mean - t * *out.se;
  out.high = out.mean + t * *out.se;
  out.new_low = out.mean - t * *out.sd * std::sqrt(1 + 1 / n);
  out.new_high = out.mean + t * *out.sd * std::sqrt(1 + 1 / n);
  return out;
}

std::optional<BetweenUnits> between_units(std::span<const PoolValue> values, double level) {
  const std::vector<PoolValue> used = measured(values, true);
  if (used.size() < 3) return std::nullopt;
  BetweenUnits out;
  out.units = used.size();
  out.tau2 = reml_tau2(used);
  const double df = static_cast<double>(used.size() - 1);
  out.low = q_reaches(used, chi2_quantile(0.5 + level / 2, df)).value_or(0);
  out.high = q_reaches(used, chi2_quantile(0.5 - level / 2, df));
  double sum = 0;
  for (const PoolValue& v : used) sum += *v.variance;
  out.fit_sd = std::sqrt(sum / static_cast<double>(used.size()));
  return out;
}

std::optional<PooledMean> pool_reml(std::span<const PoolValue> values, double level) {
  const auto between = between_units(values, level);
  if (!between) return std::nullopt;
  const std::vector<PoolValue> used = measured(values, true);
  // Values without scatter and without errors have no weights: any tau2 gives the same mean.
  double tau2 = between->tau2;
  const bool weightless =
      tau2 == 0 &&
      std::any_of(used.begin(), used.end(), [](const PoolValue& v) { return *v.variance == 0; });
  if (weightless) tau2 = 1;
  const AtTau2 at = at_tau2(used, tau2);
  const double n = static_cast<double>(used.size());
  PooledMean out;
  out.units = used.size();
  out.mean = at.mean;
  out.df = n - 1;
  out.se = std::sqrt(at.q / (*out.df * at.weight));
  out.sd = std::sqrt(sample_variance(used));
  const double t = t_quantile(0.5 + level / 2, *out.df);
  out.low = out.mean - t * *out.se;
  out.high = out.mean + t * *out.se;
  const double reach =
      t_quantile(0.5 + level / 2, n - 2) * std::sqrt(between->tau2 + *out.se * *out.se);
  out.new_low = out.mean - reach;
  out.new_high = out.mean + reach;
  return out;
}

double shrunken_value(double value, double variance, double mean, double tau2) {
  if (!(tau2 + variance > 0)) return value;
  return mean + tau2 / (tau2 + variance) * (value - mean);
}

}  // namespace leafwright
