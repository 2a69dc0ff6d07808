#include "stats/band.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "base/random.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

using Units = std::vector<std::vector<double>>;

/// Mean and standard error at every place.
void mean_and_se(const Units& units, std::vector<double>& mean, std::vector<double>& se) {
  const std::size_t places = units.front().size();
  const double n = static_cast<double>(units.size());
  mean.assign(places, 0);
  se.assign(places, 0);
  for (const auto& unit : units) {
    for (std::size_t k = 0; k < places; ++k) mean[k] += unit[k] / n;
  }
  for (const auto& unit : units) {
    for (std::size_t k = 0; k < places; ++k) se[k] += (unit[k] - mean[k]) * (unit[k] - mean[k]);
  }
  for (double& s : se) s = std::sqrt(s / (n - 1) / n);
}

/// n curves of the covariance of `deviations`.
void draw_units(const Units& deviations, RandomStream& draw, Units& into) {
  const double scale = 1 / std::sqrt(static_cast<double>(deviations.size() - 1));
  for (auto& unit : into) {
    std::fill(unit.begin(), unit.end(), 0.0);
    for (const auto& deviation : deviations) {
      const double weight = draw.normal() * scale;
      for (std::size_t k = 0; k < unit.size(); ++k) unit[k] += weight * deviation[k];
    }
  }
}

double quantile_of(std::vector<double> values, double p) {
  std::sort(values.begin(), values.end());
  const double at = std::ceil(p * static_cast<double>(values.size() + 1)) - 1;
  return values[std::min(static_cast<std::size_t>(std::max(at, 0.0)), values.size() - 1)];
}

}  // namespace

std::optional<MeanBand> mean_band(const Units& units, std::size_t resamples, std::uint64_t seed,
                                  std::string_view purpose, double level) {
  const std::size_t n = units.size();
  if (n < band_minimum || units.front().empty() || resamples == 0) return std::nullopt;
  for (const auto& unit : units) {
    if (unit.size() != units.front().size()) throw std::logic_error("units of unequal length");
  }
  MeanBand out;
  mean_and_se(units, out.mean, out.se);
  Units deviations = units;
  for (auto& unit : deviations) {
    for (std::size_t k = 0; k < unit.size(); ++k) unit[k] -= out.mean[k];
  }
  std::vector<double> largest, mean, se;
  largest.reserve(resamples);
  Units drawn = deviations;
  RandomStream draw(seed, "", purpose);
  for (std::size_t r = 0; r < resamples; ++r) {
    draw_units(deviations, draw, drawn);
    mean_and_se(drawn, mean, se);
    double most = 0;
    for (std::size_t k = 0; k < mean.size(); ++k) {
      if (se[k] > 0) most = std::max(most, std::abs(mean[k]) / se[k]);
    }
    largest.push_back(most);
  }
  out.critical = quantile_of(std::move(largest), level);
  out.pointwise = t_quantile(1 - (1 - level) / 2, static_cast<double>(n - 1));
  out.resamples = resamples;
  for (std::size_t k = 0; k < out.mean.size(); ++k) {
    out.low.push_back(out.mean[k] - out.critical * out.se[k]);
    out.high.push_back(out.mean[k] + out.critical * out.se[k]);
  }
  return out;
}

}  // namespace leafwright
