// What correlated residuals do to intervals. Real A-Ci residuals are not independent (a sharp
// minimum fitted to a smooth truth, drift of stomata and analysers): neighbours in order of Ci
// resemble each other. Taken as AR(1) with correlation rho between neighbours, R_ij = rho^|i-j|:
//
//   E[SSR] = s^2 tr(MR),   Var(theta_k) = s^2 (H R H')_kk,   H = (X'X)^-1 X',  M = I - X H
//   effective df = tr(MR)^2 / tr(MRMR)      (Satterthwaite 1946)
//   the profile threshold of parameter k becomes
//     SSR (1 + F(level; 1, df) (H R H')_kk / ((X'X)^-1_kk tr(MR)))
//
// One rho for all curves, since a single curve of ten points does not show it: the rho under which
// the expected mean lag-1 correlation of the residuals equals the observed mean.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "fit/exact.hpp"

namespace leafwright {

/// The linearised design at a solution: one column for each parameter that some row depends on.
struct Design {
  std::size_t rows = 0;
  std::vector<Parameter> columns;
  std::vector<double> X;          ///< row-major, rows x columns, times sqrt(w)
  std::vector<double> residuals;  ///< times sqrt(w), in the order of the problem's arrays
};
Design make_design(const C3Problem& problem, const ExactSolution& solution);

/// What one design needs for any rho: off-diagonal sums of M and of M S M, S the lag-1 operator.
/// E[e'Se]/E[e'e] under rho is sum_k rho^k lagged_k / sum_k rho^k plain_k.
struct CorrelationProfile {
  std::vector<double> plain, lagged;
  double observed = 0;  ///< e'Se / e'e: the lag-1 correlation of these residuals
  [[nodiscard]] double expected(double rho) const;
};
/// Empty where there are fewer than 5 rows, no residual degrees of freedom, or an exact fit.
std::optional<CorrelationProfile> correlation_profile(const Design& design);

/// rho in [0, 0.98] from all curves; 0 where the observed mean is not above what independent
/// residuals give. Empty for fewer than 5 curves.
std::optional<double> estimate_correlation(std::span<const CorrelationProfile> curves);

/// The widening at one rho.
struct Widening {
  double df = 0;
  std::vector<double> factor;  ///< by design column: (H R H')_kk / ((X'X)^-1_kk tr(MR))
  [[nodiscard]] double largest() const;
};
/// Empty where the design is singular or leaves no degrees of freedom.
std::optional<Widening> widen(const Design& design, double rho);

/// Leverage-corrected residual checks.
struct RunsAndOutliers {
  std::optional<double> runs_p;   ///< two-sided runs test (Wald & Wolfowitz 1940), n >= 8
  std::optional<double> largest;  ///< max |e_i| / (s sqrt(1 - h_ii)); at most sqrt(df)
  /// Is that row off the curve of the others? t = r sqrt((df-1)/(df-r^2)) on df - 1, two-sided,
  /// times the rows (Cook & Weisberg 1982, from memory).
  std::optional<double> outlier_p;
};
RunsAndOutliers check_residuals(const Design& design);

}  // namespace leafwright
