// From fitted values of single leaves to the mean of their group: the second of two stages.
//
// y_i = mu + b_i + e_i,  b_i ~ N(0, tau2) between units (leaves, or plants), e_i ~ N(0, v_i) of the
// fit. On ln of capacities; Rday on its own scale.
//   unweighted  mean(y) +- t(n-1) s/sqrt(n): right for any v_i, known or not
//   REML        tau2 maximises the restricted likelihood (Harville 1977); w_i = 1/(v_i + tau2);
//               se^2 = sum w_i (y_i - mu)^2/((n-1) sum w_i) with t(n-1) (Hartung & Knapp 2001,
//               Stat. Med. 20:3875; Sidik & Jonkman 2002, Stat. Med. 21:3153; from memory), without
//               the later rule that the factor may not fall below 1
//   tau2's interval: Q(tau2) = sum w_i (y_i - mu)^2 at the quantiles of chi-squared with n - 1
//               (Viechtbauer 2007, Stat. Med. 26:37; from memory)
//   new unit    mu +- t(n-2) sqrt(tau2 + se^2) (Higgins, Thompson & Spiegelhalter 2009, J. R. Stat.
//               Soc. A 172:137; from memory); unweighted: mu +- t(n-1) s sqrt(1 + 1/n)
// Weights of 1/v_i alone are not offered: leaves differ, and a true null is then rejected far too
// often.
//   censored    normal likelihood with bounds: a unit known only to lie above (below) its bound
//               adds ln P(y > bound). The interval of mu is where the profile deviance stays below
//               m ln(1 + t^2/(m-1)), m units with a value: without bounds that is the t interval.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"

namespace leafwright {

/// What is known of a value: itself, or only that it lies above or below.
enum class PoolBound { none, lower, upper };

/// One leaf or plant, on the scale of the analysis.
struct PoolValue {
  std::string unit;                ///< leaves of one unit (plant) share it
  double value = 0;                ///< the bound, where it is one
  std::optional<double> variance;  ///< of the fit, same scale squared, >= 0
  PoolBound bound = PoolBound::none;
};

struct PooledMean {
  std::size_t units = 0;   ///< with a value
  std::size_t bounds = 0;  ///< known by a bound only, and used
  double mean = 0;
  std::optional<double> se, df;
  std::optional<double> low, high;
  std::optional<double> sd;                 ///< between units as fitted, noise of fits included
  std::optional<double> new_low, new_high;  ///< for one more unit
};

/// Variance between units beyond the noise of fits.
struct BetweenUnits {
  double tau2 = 0;
  double low = 0;
  std::optional<double> high;  ///< empty: open
  double fit_sd = 0;           ///< root mean variance of the fits
  std::size_t units = 0;       ///< with a known variance
};

/// One value a unit: the mean of its leaves, in order of first appearance. The variance is known
/// where all leaves' are. A unit with lower bounds is bounded from below by the mean of values and
/// bounds; one with bounds of both kinds says nothing and is left out.
std::vector<PoolValue> average_units(std::span<const PoolValue> leaves);

/// Bounds are passed over. Needs two values for an interval. No value: throws std::logic_error.
PooledMean pool_unweighted(std::span<const PoolValue> values, double level = 0.95);

/// REML; values without a variance or with a bound are passed over. Empty with fewer than three.
std::optional<BetweenUnits> between_units(std::span<const PoolValue> values, double level = 0.95);

/// The Hartung-Knapp mean with the tau2 of between_units. Empty with fewer than three.
std::optional<PooledMean> pool_reml(std::span<const PoolValue> values, double level = 0.95);

/// The mean under a normal distribution with bounds. Errors: unfit, with fewer than three values
/// that differ.
Result<PooledMean> pool_censored(std::span<const PoolValue> values, double level = 0.95);

/// mean + tau2/(tau2 + v) (value - mean): the best guess of the unit's own value, drawn towards
/// the mean (James & Stein 1961; Robinson 1991, Stat. Sci. 6:15). Not for further analysis.
double shrunken_value(double value, double variance, double mean, double tau2);

}  // namespace leafwright
