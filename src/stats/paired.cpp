#include "stats/paired.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

struct Plant {
  std::size_t id = 0;
  double sum = 0;
  std::size_t leaves = 0;
  [[nodiscard]] double mean() const { return sum / static_cast<double>(leaves); }
};

std::vector<Plant> by_plant(std::span<const PairedDifference> pairs) {
  std::vector<Plant> plants;
  for (const PairedDifference& pair : pairs) {
    auto at = std::find_if(plants.begin(), plants.end(),
                           [&](const Plant& plant) { return plant.id == pair.plant; });
    if (at == plants.end()) at = plants.insert(plants.end(), Plant{pair.plant, 0, 0});
    at->sum += pair.value;
    ++at->leaves;
  }
  return plants;
}

double variance(std::span<const double> values) {
  double mean = 0;
  for (const double v : values) mean += v / static_cast<double>(values.size());
  double sum = 0;
  for (const double v : values) sum += (v - mean) * (v - mean);
  return sum / static_cast<double>(values.size() - 1);
}

/// What the intervals of the limits are made from.
struct Moments {
  double mean = 0, n = 0, df_within = 0;
  double between = 0;  ///< S_b^2, variance of the plant means
  double within = 0;   ///< S_w^2
  double shrink = 0;   ///< 1 - 1/m_h
  [[nodiscard]] double total() const { return between + shrink * within; }
};

/// sqrt(n) (limit - mean)/S is noncentral t with ncp z sqrt(n): an exact pivot.
LimitsOfAgreement exact_limits(const Moments& m, double z, double level) {
  const double s = std::sqrt(m.between);
  const double root_n = std::sqrt(m.n);
  const double alpha = 1 - level;
  const double near = s * noncentral_t_quantile(alpha / 2, m.n - 1, z * root_n) / root_n;
  const double far = s * noncentral_t_quantile(1 - alpha / 2, m.n - 1, z * root_n) / root_n;
  LimitsOfAgreement out;
  out.upper = {m.mean + z * s, m.mean + near, m.mean + far};
  out.lower = {m.mean - z * s, m.mean - far, m.mean - near};
  out.method = "exact (noncentral t)";
  return out;
}

/// Interval of the total variance by MOVER: the distances of each component's own limits from its
/// estimate are added as squares.
std::pair<double, double> total_variance_interval(const Moments& m, double level) {
  const double alpha = 1 - level;
  const auto below = [&](double s2, double df) {
    return s2 * (1 - df / chi2_quantile(1 - alpha / 2, df));
  };
  const auto above = [&](double s2, double df) {
    return s2 * (df / chi2_quantile(alpha / 2, df) - 1);
  };
  const double w = m.shrink * m.within;
  const double low = std::hypot(below(m.between, m.n - 1), below(w, m.df_within));
  const double high = std::hypot(above(m.between, m.n - 1), above(w, m.df_within));
  return {std::max(0.0, m.total() - low), m.total() + high};
}

LimitsOfAgreement mover_limits(const Moments& m, double z, double level) {
  const auto [v_low, v_high] = total_variance_interval(m, level);
  const double s = std::sqrt(m.total());
  const double t = t_quantile(1 - (1 - level) / 2, m.n - 1) * std::sqrt(m.between / m.n);
  const double inward = std::hypot(t, z * (s - std::sqrt(v_low)));
  const double outward = std::hypot(t, z * (std::sqrt(v_high) - s));
  LimitsOfAgreement out;
  out.upper = {m.mean + z * s, m.mean + z * s - inward, m.mean + z * s + outward};
  out.lower = {m.mean - z * s, m.mean - z * s - outward, m.mean - z * s + inward};
  out.method = "MOVER";
  return out;
}

Moments moments_of(std::span<const PairedDifference> pairs, const std::vector<Plant>& plants) {
  Moments m;
  m.n = static_cast<double>(plants.size());
  std::vector<double> means;
  double harmonic = 0;
  for (const Plant& plant : plants) {
    means.push_back(plant.mean());
    m.mean += plant.mean() / m.n;
    harmonic += 1 / static_cast<double>(plant.leaves);
  }
  m.shrink = 1 - harmonic / m.n;
  m.df_within = static_cast<double>(pairs.size() - plants.size());
  if (plants.size() > 1) m.between = variance(means);
  double sum = 0;
  for (const PairedDifference& pair : pairs) {
    const auto plant = std::find_if(plants.begin(), plants.end(),
                                    [&](const Plant& p) { return p.id == pair.plant; });
    sum += std::pow(pair.value - plant->mean(), 2);
  }
  if (m.df_within > 0) m.within = sum / m.df_within;
  return m;
}

}  // namespace

std::vector<double> plant_means(std::span<const PairedDifference> pairs) {
  std::vector<double> out;
  for (const Plant& plant : by_plant(pairs)) out.push_back(plant.mean());
  return out;
}

PairedSummary summarise_pairs(std::span<const PairedDifference> pairs, double level) {
  if (pairs.empty()) throw std::logic_error("no pair to summarise");
  const std::vector<Plant> plants = by_plant(pairs);
  const Moments m = moments_of(pairs, plants);
  PairedSummary out;
  out.level = level;
  out.leaves = pairs.size();
  out.plants = plants.size();
  out.clustered = m.df_within > 0;
  out.mean = m.mean;
  if (plants.size() < 2) return out;
  out.df = m.n - 1;
  out.se = std::sqrt(m.between / m.n);
  const double reach = t_quantile(1 - (1 - level) / 2, *out.df) * *out.se;
  out.low = m.mean - reach;
  out.high = m.mean + reach;
  if (*out.se > 0) out.p = 2 * t_upper(std::abs(m.mean) / *out.se, *out.df);
  out.sd_total = std::sqrt(m.total());
  if (out.clustered) {
    out.sd_leaves = std::sqrt(m.within);
    // The mean of a plant scatters by its leaves too: harmonic/n = 1 - shrink.
    out.sd_plants = std::sqrt(std::max(0.0, m.between - (1 - m.shrink) * m.within));
  }
  if (plants.size() < 3) return out;
  const double z = normal_quantile(0.5 + 0.95 / 2);
  out.limits = out.clustered ? mover_limits(m, z, level) : exact_limits(m, z, level);
  return out;
}

std::optional<FitNoise> fit_noise(std::span<const PairedDifference> pairs) {
  std::vector<double> values;
  double weights = 0, weighted = 0, fit = 0;
  for (const PairedDifference& pair : pairs) {
    if (!pair.fit_variance || !(*pair.fit_variance > 0)) continue;
    values.push_back(pair.value);
    weights += 1 / *pair.fit_variance;
    weighted += pair.value / *pair.fit_variance;
    fit += *pair.fit_variance;
  }
  if (values.size() < 2) return std::nullopt;
  FitNoise out;
  out.leaves = values.size();
  const double n = static_cast<double>(values.size());
  const double observed = variance(values);
  out.sd_observed = std::sqrt(observed);
  out.sd_fit = std::sqrt(fit / n);
  if (observed > fit / n) out.sd_beyond = std::sqrt(observed - fit / n);
  for (const PairedDifference& pair : pairs) {
    if (!pair.fit_variance || !(*pair.fit_variance > 0)) continue;
    out.q += std::pow(pair.value - weighted / weights, 2) / *pair.fit_variance;
  }
  out.df = n - 1;
  out.p = chi2_upper(out.q, out.df);
  return out;
}

}  // namespace leafwright
