// Huber's loss by exact fits that are weighted anew until nothing moves.
//
//   sum_i s rho(u_i/s) + a s,   u = sqrt(w) (A - model),  rho(x) = x^2/2 up to |x| = k, else linear
//
// with the scale s estimated beside the parameters (Proposal 2: sum psi(u/s)^2 = (n - p) E psi^2,
// Huber 1964; Huber 1981, Robust Statistics, sections 7.7 and 7.8). Each step takes weights
// h_i = min(1, k s/|u_i|), solves that weighted problem exactly, then s; neither can raise the
// loss. The loss has several minima, so the steps start from the squared-loss fit and from each row
// left out once (up to `most_starts` rows), and the lowest end is taken. Only the last weighted
// problem is certified, not the loss.
//
// Intervals: of the pseudo-values A* = model + s psi(u/s)/(m sqrt(w)), m the share of rows not
// weighted down, the fit is the least-squares fit, and (residual sum of squares of A*)/df K^2,
// K = 1 + (p/n)(1 - m)/m, is the variance of Huber's asymptotic covariance (Huber 1981, eq. 7.6.5,
// from memory). So the exact profile of A* with that variance is used.
#pragma once

#include <vector>

#include "fit/exact.hpp"
#include "fit/result.hpp"

namespace leafwright {

inline constexpr std::size_t most_starts = 60;

struct HuberSolution {
  C3Problem weighted;          ///< the last weighted problem: its w are those given times `weight`
  ExactSolution solution;      ///< of it
  std::vector<double> weight;  ///< Huber's, 0..1, in the order of the problem's arrays
  HuberOutcome outcome;
  double loss = 0;
};

/// Solves `problem`, whose w are the weights rows have before. k > 0. Without residual degrees of
/// freedom it is the squared-loss fit. The scale is at least 1e-9 of the root mean square of A.
HuberSolution solve_huber(const C3Problem& problem, double k);

/// The problem of pseudo-values, and its solution (that of the loss, with the sum of squares of the
/// pseudo-values).
struct PseudoValues {
  C3Problem problem;
  ExactSolution solution;
};
PseudoValues pseudo_values(const C3Problem& problem, const HuberSolution& huber);

/// E psi(Z)^2 of a standard normal Z: what Proposal 2 asks of residuals.
double huber_expectation(double k);

}  // namespace leafwright
