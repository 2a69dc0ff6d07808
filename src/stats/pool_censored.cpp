// The mean of a normal sample some of which is known by bounds only.
#include <cmath>
#include <limits>

#include "numeric/distributions.hpp"
#include "numeric/roots.hpp"
#include "stats/pool.hpp"

namespace leafwright {
namespace {

constexpr double root_two_pi = 2.5066282746310002;

/// phi(z)/P(Z > z), without 0/0 far out.
double hazard(double z) {
  const double upper = normal_upper(z);
  if (upper > 0) return std::exp(-z * z / 2) / (root_two_pi * upper);
  return z + 1 / z;  // the first terms of Mills' series
}

double log_upper(double z) {
  const double upper = normal_upper(z);
  if (upper > 0) return std::log(upper);
  return -z * z / 2 - std::log(root_two_pi * (z + 1 / z));
}

/// In (mu/sigma, 1/sigma) the log likelihood is concave (Olsen 1978, Econometrica 46:1211; from
/// memory), so each of the searches below has one root.
class Likelihood {
 public:
  explicit Likelihood(std::span<const PoolValue> values) {
    for (const PoolValue& v : values) {
      if (v.bound == PoolBound::none) {
        y_.push_back(v.value);
      } else {
        bounds_.push_back({v.value, v.bound == PoolBound::lower ? 1.0 : -1.0});
      }
    }
  }
  [[nodiscard]] const std::vector<double>& values() const { return y_; }
  [[nodiscard]] std::size_t bounds() const { return bounds_.size(); }

  /// 1/sigma of the highest likelihood at this mu.
  [[nodiscard]] Result<double> precision(double mu) const {
    const double m = static_cast<double>(y_.size());
    double sum = 0;
    for (const double y : y_) sum += (y - mu) * (y - mu);
    const auto slope = [&](double log_theta) {
      const double theta = std::exp(log_theta);
      double out = m - theta * theta * sum;  // times theta: no pole at 0
      for (const auto& [bound, sign] : bounds_) {
        const double d = sign * (bound - mu);
        out -= theta * d * hazard(theta * d);
      }
      return out;
    };
    const double start = std::log(std::sqrt(m / sum));
    const auto bracket = bracket_outward(slope, start, slope(start) > 0 ? 0.5 : -0.5,
                                         slope(start) > 0 ? start + 60 : start - 60);
    if (!bracket) return fail(bracket.error());
    const auto root = find_root(slope, bracket->inner, bracket->outer);
    if (!root) return fail(root.error());
    return std::exp(root->x);
  }

  /// d/dmu of the profile log likelihood, over theta.
  [[nodiscard]] double slope(double mu) const {
    const auto theta = precision(mu);
    if (!theta) return std::numeric_limits<double>::quiet_NaN();
    double out = 0;
    for (const double y : y_) out += *theta * (y - mu);
    for (const auto& [bound, sign] : bounds_) out += sign * hazard(sign * *theta * (bound - mu));
    return out;
  }

  [[nodiscard]] double log_likelihood(double mu) const {
    const auto theta = precision(mu);
    if (!theta) return std::numeric_limits<double>::quiet_NaN();
    double out = static_cast<double>(y_.size()) * std::log(*theta);
    for (const double y : y_) out -= *theta * *theta * (y - mu) * (y - mu) / 2;
    for (const auto& [bound, sign] : bounds_) out += log_upper(sign * *theta * (bound - mu));
    return out;
  }

 private:
  std::vector<double> y_;
  std::vector<std::pair<double, double>> bounds_;  ///< bound, +1 above it, -1 below it
};

/// Where `f` changes sign, walking from `start` in steps of `step`.
Result<double> walk(const ScalarFunction& f, double start, double step) {
  const auto bracket = bracket_outward(f, start, step, start + 1e6 * step);
  if (!bracket) return fail(bracket.error());
  if (bracket->open) {
    return fail(ErrorCode::unfit, "the bounds leave the mean open", "more leaves with a value", "");
  }
  const auto root = find_root(f, bracket->inner, bracket->outer);
  if (!root) return fail(root.error());
  return root->x;
}

}  // namespace

Result<PooledMean> pool_censored(std::span<const PoolValue> values, double level) {
  const Likelihood likelihood(values);
  const std::vector<double>& y = likelihood.values();
  std::size_t distinct = 0;
  for (const double v : y) distinct += v != y.front() ? 1U : 0U;
  if (y.size() < 3 || distinct == 0) {
    return fail(ErrorCode::unfit, std::to_string(y.size()) + " values beside the bounds",
                "at least 3 that differ", "give the share of leaves with a bound instead");
  }
  PooledMean out = pool_unweighted(values, level);
  out.bounds = likelihood.bounds();
  const auto slope = [&](double mu) { return likelihood.slope(mu); };
  const double start = out.mean, scale = *out.sd;
  const double here = slope(start);
  if (std::abs(here) > 1e-12) {
    const auto mean = walk(slope, start, here > 0 ? 0.1 * scale : -0.1 * scale);
    if (!mean) return fail(mean.error());
    out.mean = *mean;
  }
  const auto theta = likelihood.precision(out.mean);
  if (!theta) return fail(theta.error());
  const double m = static_cast<double>(y.size());
  // Maximum likelihood divides by m; without bounds this is the usual SD.
  out.sd = 1 / *theta * std::sqrt(m / (m - 1));
  out.df = m - 1;
  out.se.reset();
  const double t = t_quantile(0.5 + level / 2, m - 1);
  const double drop = m * std::log1p(t * t / (m - 1)) / 2,
               top = likelihood.log_likelihood(out.mean);
  const auto excess = [&](double mu) { return likelihood.log_likelihood(mu) - top + drop; };
  const auto low = walk(excess, out.mean, -0.25 * scale);
  const auto high = walk(excess, out.mean, 0.25 * scale);
  if (!low) return fail(low.error());
  if (!high) return fail(high.error());
  out.low = *low;
  out.high = *high;
  out.new_low = out.mean - t * *out.sd * std::sqrt(1 + 1 / m);
  out.new_high = out.mean + t * *out.sd * std::sqrt(1 + 1 / m);
  return out;
}

}  // namespace leafwright
