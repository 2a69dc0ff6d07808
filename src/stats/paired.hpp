// Paired differences with a plant effect: mean, variance components, limits of agreement.
//
// Model: d_ij = mu + b_i + e_ij, plant i, leaf j; b and e normal, independent. The plant is the
// unit: every plant counts once, however many leaves it has.
//   plant means  m_i;  mean = mean(m_i), se = S_b/sqrt(n), df = n - 1, S_b = SD of the m_i
//   within       S_w^2 = sum (d_ij - m_i)^2/(N - n)
//   total        S_t^2 = S_b^2 + (1 - 1/m_h) S_w^2, m_h the harmonic mean of leaves a plant
//   limits       mean +- z S_t  (z = 1.96 for 95 % of the differences)
// Sources: Bland & Altman 1986, Lancet i:307 (limits); Zou 2013, Stat. Methods Med. Res. 22:630
// (several observations a subject, MOVER intervals of the limits); Carkeet 2015, Optom. Vis. Sci.
// 92:e71 (exact intervals of the limits for one observation a subject). From memory; what the
// formulas promise is checked by simulation (tests/stats).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace leafwright {

/// One leaf's difference between two methods, on the scale of the analysis (log ratio, or plain).
struct PairedDifference {
  double value = 0;
  std::size_t plant = 0;               ///< any number that leaves of one plant share
  std::optional<double> fit_variance;  ///< se_first^2 + se_second^2, same scale squared
};

/// A limit of agreement with its own interval.
struct Limit {
  double value = 0, low = 0, high = 0;
};

struct LimitsOfAgreement {
  Limit lower, upper;
  double share = 0.95;  ///< of differences meant to lie between the limits
  std::string method;   ///< of their intervals: "exact (noncentral t)" or "MOVER"
};

struct PairedSummary {
  std::size_t leaves = 0, plants = 0;
  bool clustered = false;  ///< some plant has several leaves
  double mean = 0;
  std::optional<double> se, df;  ///< from two plants on
  std::optional<double> low, high;
  std::optional<double> p;  ///< two-sided t test of mean = 0
  double level = 0.95;
  std::optional<double> sd_total, sd_plants, sd_leaves;  ///< sd_plants: component, >= 0
  std::optional<LimitsOfAgreement> limits;               ///< from three plants on
};

/// Differences must be finite. No difference: throws std::logic_error.
PairedSummary summarise_pairs(std::span<const PairedDifference> pairs, double level = 0.95);

/// The mean of each plant, in order of first appearance.
std::vector<double> plant_means(std::span<const PairedDifference> pairs);

/// How much of the scatter of the differences is noise of the two fits.
struct FitNoise {
  std::size_t leaves = 0;           ///< with a known fit variance
  double sd_observed = 0;           ///< of these leaves' differences
  double sd_fit = 0;                ///< root mean fit variance
  std::optional<double> sd_beyond;  ///< sqrt(observed^2 - fit^2); empty where fit noise covers all
  double q = 0, df = 0, p = 0;      ///< Cochran's Q: is there scatter beyond fit noise?
};

/// Method of moments: fit variances are subtracted from the observed variance; Q = sum (d -
/// mean_w)^2 / v, chi-squared with n - 1 df where fit noise is all there is (Cochran 1954,
/// Biometrics 10:101). Empty with fewer than two leaves of known positive fit variance.
std::optional<FitNoise> fit_noise(std::span<const PairedDifference> pairs);

}  // namespace leafwright
