// Nonlinear least squares with bounds, weights, robust losses and honest stop reasons.
//
// Finds a LOCAL minimum of  sum_i w_i r_i(p)^2  (or of a robust sum, see Loss) over
// lower <= p <= upper, from one start. No certificate: where several minima exist, use several
// starts, or a solver that knows its model.
//
// Method: Levenberg-Marquardt as a trust region in variables scaled by the column norms of the
// Jacobian (More 1978, Lecture Notes in Mathematics 630:105), each subproblem solved by
// Householder QR and a singular value decomposition of R, so that rank is seen, not guessed.
// Bounds: each step minimises the damped model within them by an active set (Stark & Parker 1995,
// Computational Statistics 10:129); a parameter on a bound is held while the sum falls outward.
// Why our own and not a ready one: docs/decisions/least-squares.md.
//
// Convergence (a small change of the sum alone never counts as convergence):
//   gradient  every free column makes an angle of 90 degrees with the residual vector, to
//             |J_j.r| <= gradient_tolerance |J_j| |r|: no parameter would move by more than about
//             gradient_tolerance sqrt(m) of its standard error (in the spirit of the relative
//             offset of Bates & Watts 1981, Technometrics 23:179)
//   step      the undamped Gauss-Newton step is below step_tolerance of every free parameter
//   rounding  steps no longer change the sum beyond rounding, and the angle is within 1e-6
//
// Statistics: s^2 = sum_i w_i r_i^2/df, covariance s^2 (J'WJ)^-1 over the parameters that are not
// held at a bound; df = (rows of weight > 0) - (parameters not fixed by the caller). With a robust
// loss: the asymptotic form of Huber (1981, Robust Statistics, section 7.6, from memory).
//
//   LeastSquaresProblem problem;
//   problem.residual_count = n;
//   problem.residuals = [&](auto p, auto r) { for (...) r[i] = p[0] * std::exp(-p[1] * x[i]) -
//   y[i]; }; problem.start = {1.0, 0.1}; auto fit = least_squares(problem); if (fit &&
//   fit->converged()) use(fit->parameters);
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"

namespace leafwright {

/// Writes all residuals (model - data, or data - model) at `parameters`. A value that is not
/// finite means "the model cannot be computed here": the solver steps back.
using ResidualFunction =
    std::function<void(std::span<const double> parameters, std::span<double> residuals)>;

/// Writes the derivatives of the residuals, row by row: jacobian[i * n + j] = d r_i / d p_j.
using JacobianFunction =
    std::function<void(std::span<const double> parameters, std::span<double> jacobian)>;

struct LeastSquaresProblem {
  std::size_t residual_count = 0;  ///< m
  ResidualFunction residuals;
  /// Empty: finite differences of second order, step epsilon^(1/3) max(|p|, 1e-3 typical),
  /// central, or one-sided where a bound is in the way.
  JacobianFunction jacobian;
  std::vector<double> start;    ///< n parameters, within the bounds
  std::vector<double> lower;    ///< empty: none; entries may be -infinity
  std::vector<double> upper;    ///< empty: none; lower = upper fixes a parameter
  std::vector<double> typical;  ///< size of each parameter, > 0; empty: |start|, or 1 where 0
  std::vector<double> weights;  ///< w_i >= 0 on squared residuals; empty: all 1
};

/// What is minimised, with z_i = sqrt(w_i) r_i / scale.
enum class Loss {
  squared,
  huber,  ///< z^2/2 for |z| <= 1.345, else linear: 95 % efficiency (Huber 1964)
  tukey,  ///< biweight, 4.685: far residuals have no weight (Beaton & Tukey 1974)
};

struct LeastSquaresOptions {
  double gradient_tolerance = 1e-10;
  double step_tolerance = 1e-11;
  int max_iterations = 1000;  ///< Jacobians; the limit holds for each reweighting
  Loss loss = Loss::squared;
  /// Scale of the residuals for a robust loss, in their unit. Empty: 1.4826 median |sqrt(w) r|,
  /// found anew at each reweighting. `tukey` starts from the Huber solution, as its sum has many
  /// minima.
  std::optional<double> loss_scale;
  int max_reweightings = 200;
};

enum class StopReason {
  gradient,         ///< converged: the residual vector is orthogonal to the model
  step,             ///< converged: the Gauss-Newton step vanishes
  rounding,         ///< converged as far as rounding allows
  at_bounds,        ///< every parameter is at a bound (or fixed), each held by its gradient
  singular,         ///< stationary, but the data do not determine all free parameters (see rank)
  no_progress,      ///< no smaller sum found, yet not stationary: kink, noise or wrong Jacobian
  iteration_limit,  ///< max_iterations or max_reweightings reached
  non_finite,       ///< the model or its derivatives could not be computed at the current point
};
/// "gradient", "step", "rounding", "at bounds", "singular", "no progress", ...
const char* stop_reason_name(StopReason reason);

enum class BoundState { free, at_lower, at_upper, fixed };

struct LeastSquaresFit {
  std::vector<double> parameters;
  double ssr = 0;                 ///< sum w r^2 at the parameters (without loss weights)
  std::vector<double> residuals;  ///< r_i, unweighted
  StopReason stop = StopReason::iteration_limit;
  int iterations = 0;   ///< Jacobians computed
  int evaluations = 0;  ///< residual vectors computed, those for differences included
  double angle = 0;     ///< largest |J_j.r|/(|J_j||r|) over free parameters at the end

  std::vector<BoundState> bounds;  ///< per parameter
  std::size_t rank = 0;            ///< of the Jacobian over the free parameters
  std::size_t free_count = 0;      ///< parameters not held at a bound and not fixed
  std::ptrdiff_t df = 0;           ///< 0: no residual variance, hence no standard errors

  std::optional<double> variance;  ///< s^2; empty where df = 0
  /// n x n, row by row; rows of held parameters are 0. Empty where rank < free_count or df = 0.
  std::vector<double> covariance;
  /// Empty for a held parameter, one the data do not determine, or df = 0.
  std::vector<std::optional<double>> standard_errors;

  double loss_scale = 0;             ///< 0 for squared loss
  std::vector<double> loss_weights;  ///< psi(z)/z per row; empty for squared loss
  int reweightings = 0;

  /// A local minimum was reached (gradient, step, rounding or at_bounds).
  [[nodiscard]] bool converged() const;
};

/// Errors. usage: sizes that do not agree, start outside the bounds, lower > upper, weights or
/// typical sizes out of range, loss_scale <= 0. unfit: fewer weighted rows than free parameters;
/// residuals not finite at the start; more than half the residuals are 0, so that a robust loss
/// has no scale. Whatever happens later is told by `stop`, with the best parameters so far.
Result<LeastSquaresFit> least_squares(const LeastSquaresProblem& problem,
                                      const LeastSquaresOptions& options = {});

}  // namespace leafwright
