#include "numeric/least_squares.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "numeric/trust_region.hpp"

namespace leafwright {
namespace {

using trust_region::at;
using trust_region::Index;
using trust_region::LevenbergMarquardt;
using trust_region::MatrixXd;
using trust_region::Model;
using trust_region::Subproblem;
using trust_region::VectorXd;

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double huber_constant = 1.345;
constexpr double tukey_constant = 4.685;
constexpr double mad_to_sigma = 1.4826;  // 1/normal_quantile(0.75)

VectorXd copied(const std::vector<double>& values, Index size, double otherwise) {
  VectorXd out = VectorXd::Constant(size, otherwise);
  for (std::size_t i = 0; i < values.size(); ++i) out[static_cast<Index>(i)] = values[i];
  return out;
}

tl::unexpected<Error> usage(std::string found, std::string expected) {
  return fail(ErrorCode::usage, std::move(found), std::move(expected));
}

std::optional<Error> wrong_sizes(const LeastSquaresProblem& q) {
  const auto size_of = [](const char* name, const std::vector<double>& v, std::size_t n,
                          bool may) -> std::optional<Error> {
    if (v.size() == n || (may && v.empty())) return std::nullopt;
    return usage(fmt::format("{} {} values", v.size(), name), fmt::format("{} values", n)).value();
  };
  const std::size_t n = q.start.size();
  if (n == 0 || !q.residuals)
    return usage("a problem without parameters or without a residual function", "both").value();
  if (auto e = size_of("lower", q.lower, n, true)) return e;
  if (auto e = size_of("upper", q.upper, n, true)) return e;
  if (auto e = size_of("typical", q.typical, n, true)) return e;
  return size_of("weights", q.weights, q.residual_count, true);
}

std::optional<Error> wrong_values(const LeastSquaresProblem& q, const Model& model,
                                  const LeastSquaresOptions& options) {
  for (Index j = 0; j < model.n; ++j) {
    const double p = q.start[at(j)], low = model.lower[j], high = model.upper[j];
    if (!std::isfinite(p) || !(low <= p && p <= high))
      return usage(fmt::format("start {} of parameter {} with bounds {} to {}", p, j, low, high),
                   "a finite start within its bounds")
          .value();
    if (!(model.typical[j] > 0) || !std::isfinite(model.typical[j]))
      return usage(fmt::format("typical size {} of parameter {}", model.typical[j], j),
                   "a positive finite size")
          .value();
  }
  for (const double w : q.weights)
    if (!(w >= 0) || !std::isfinite(w))
      return usage(fmt::format("weight {}", w), "finite weights >= 0").value();
  if (options.loss_scale && !(*options.loss_scale > 0 && std::isfinite(*options.loss_scale)))
    return usage(fmt::format("loss scale {}", *options.loss_scale), "a positive finite scale")
        .value();
  return std::nullopt;
}

// psi(z)/z of the loss.
double loss_weight(Loss loss, double z) {
  z = std::abs(z);
  if (loss == Loss::huber) return z <= huber_constant ? 1 : huber_constant / z;
  if (loss == Loss::tukey) {
    const double u = z / tukey_constant;
    return u < 1 ? (1 - u * u) * (1 - u * u) : 0;
  }
  return 1;
}

// d psi(z)/dz.
double loss_curvature(Loss loss, double z) {
  if (loss == Loss::huber) return std::abs(z) <= huber_constant ? 1 : 0;
  if (loss == Loss::tukey) {
    const double u2 = z * z / (tukey_constant * tukey_constant);
    return u2 < 1 ? (1 - u2) * (1 - 5 * u2) : 0;
  }
  return 1;
}

double median_size(const VectorXd& r, const VectorXd& root_weight) {
  std::vector<double> sizes;
  for (Index i = 0; i < r.size(); ++i)
    if (root_weight[i] > 0) sizes.push_back(std::abs(r[i]));
  if (sizes.empty()) return 0;
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  if (sizes.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(sizes.begin(), middle));
}

class Driver {
 public:
  Driver(const LeastSquaresProblem& problem, const LeastSquaresOptions& options, Model& model)
      : options_(options),
        model_(model),
        root_weight_(copied(problem.weights, model.m, 1).cwiseSqrt()) {
    p_ = copied(problem.start, model.n, 0);
  }

  Result<LeastSquaresFit> run();

 private:
  void minimise();
  std::optional<Error> reweight_until_still(Loss loss);
  void statistics(Loss loss);
  [[nodiscard]] double robust_variance(Loss loss) const;

  const LeastSquaresOptions& options_;
  Model& model_;
  VectorXd root_weight_;  // without loss weights
  VectorXd p_, z_;        // z: residuals times root_weight, then divided by the loss scale
  std::vector<Index> free_;
  double rank_tolerance_ = 0;
  LeastSquaresFit fit_;
};

void Driver::minimise() {
  LevenbergMarquardt solver(model_, options_, p_);
  fit_.stop = solver.run();
  fit_.iterations += solver.iterations();
  fit_.bounds = solver.bounds();
  fit_.angle = solver.angle();
  free_ = solver.free();
  rank_tolerance_ = solver.rank_tolerance();
  p_ = solver.parameters();
}

std::optional<Error> Driver::reweight_until_still(Loss loss) {
  for (int round = 0; round < options_.max_reweightings; ++round) {
    model_.root_weight = root_weight_;
    if (!model_.weighted(p_, z_)) {
      fit_.stop = StopReason::non_finite;
      return std::nullopt;
    }
    const double scale = options_.loss_scale.value_or(mad_to_sigma * median_size(z_, root_weight_));
    if (!(scale > 0))
      return fail(ErrorCode::unfit,
                  "more than half of the residuals are 0: a robust loss has no "
                  "scale",
                  "noise in the data, or a given scale",
                  "give the scale, or use the "
                  "squared loss")
          .value();
    fit_.loss_scale = scale;
    fit_.loss_weights.resize(at(model_.m));
    for (Index i = 0; i < model_.m; ++i) {
      fit_.loss_weights[at(i)] = loss_weight(loss, z_[i] / scale);
      model_.root_weight[i] = root_weight_[i] * std::sqrt(fit_.loss_weights[at(i)]);
    }
    const VectorXd before = p_;
    minimise();
    ++fit_.reweightings;
    if (!fit_.converged()) return std::nullopt;
    const VectorXd size = p_.cwiseAbs() + 1e-6 * model_.typical;
    if (((p_ - before).cwiseAbs().array() <= 1e-10 * size.array()).all()) return std::nullopt;
  }
  fit_.stop = StopReason::iteration_limit;
  return std::nullopt;
}

double Driver::robust_variance(Loss loss) const {
  double n = 0, psi2 = 0, slope = 0, slope2 = 0;
  for (Index i = 0; i < model_.m; ++i) {
    if (root_weight_[i] == 0) continue;
    const double z = z_[i] / fit_.loss_scale, psi = loss_weight(loss, z) * z;
    const double d = loss_curvature(loss, z);
    n += 1;
    psi2 += psi * psi;
    slope += d;
    slope2 += d * d;
  }
  const double mean = slope / n, spread = slope2 / n - mean * mean;
  const double k = 1 + static_cast<double>(free_.size()) / n * spread / (mean * mean);
  const double s = fit_.loss_scale * k / mean;
  return s * s * psi2 / static_cast<double>(fit_.df);
}

void Driver::statistics(Loss loss) {
  model_.root_weight = root_weight_;
  fit_.free_count = free_.size();
  fit_.standard_errors.assign(at(model_.n), std::nullopt);
  MatrixXd J(model_.m, model_.n);
  if (!model_.weighted(p_, z_) || !model_.jacobian(p_, z_, J)) return;
  if (fit_.df > 0)
    fit_.variance = loss == Loss::squared ? z_.squaredNorm() / static_cast<double>(fit_.df)
                                          : robust_variance(loss);
  const auto count = static_cast<Index>(free_.size());
  if (count == 0) return;
  MatrixXd columns(model_.m, count);
  for (Index k = 0; k < count; ++k) columns.col(k) = J.col(free_[at(k)]);
  VectorXd norms = columns.colwise().norm();
  for (Index k = 0; k < count; ++k)
    if (norms[k] == 0) norms[k] = 1;
  const Subproblem svd(columns, z_, norms);
  const Index rank = svd.rank(rank_tolerance_);
  fit_.rank = at(rank);
  if (!fit_.variance || !std::isfinite(*fit_.variance)) return;

  const MatrixXd half = norms.cwiseInverse().asDiagonal() * svd.V.leftCols(rank) *
                        svd.s.head(rank).cwiseInverse().asDiagonal();
  const MatrixXd covariance = *fit_.variance * half * half.transpose();
  // With a null space, parameters that take no part in it keep their standard errors.
  for (Index k = 0; k < count; ++k)
    if (svd.V.row(k).tail(count - rank).cwiseAbs().sum() < 1e-5)
      fit_.standard_errors[at(free_[at(k)])] = std::sqrt(covariance(k, k));
  if (rank < count) return;
  fit_.covariance.assign(at(model_.n * model_.n), 0);
  for (Index a = 0; a < count; ++a)
    for (Index b = 0; b < count; ++b)
      fit_.covariance[at(free_[at(a)] * model_.n + free_[at(b)])] = covariance(a, b);
}

Result<LeastSquaresFit> Driver::run() {
  const auto rows = (root_weight_.array() > 0).count();
  const auto permitted = (model_.lower.array() < model_.upper.array()).count();
  if (rows < permitted)
    return fail(ErrorCode::unfit, fmt::format("{} rows for {} free parameters", rows, permitted),
                "at least as many rows as parameters", "fix parameters or add data");
  fit_.df = rows - permitted;
  model_.root_weight = root_weight_;
  if (!model_.weighted(p_, z_))
    return fail(ErrorCode::unfit, "the residuals are not finite at the start",
                "a start at which the model can be computed", "choose another start");
  Loss loss = options_.loss;
  minimise();
  if (loss != Loss::squared) {
    if (auto error = reweight_until_still(Loss::huber)) return fail(*error);
    if (loss == Loss::tukey)
      if (auto error = reweight_until_still(Loss::tukey)) return fail(*error);
  }
  statistics(loss);
  fit_.parameters.assign(p_.begin(), p_.end());
  fit_.ssr = z_.squaredNorm();
  VectorXd residuals;
  model_.raw(p_, residuals);
  fit_.residuals.assign(residuals.begin(), residuals.end());
  fit_.evaluations = model_.evaluations;
  return std::move(fit_);
}

}  // namespace

bool LeastSquaresFit::converged() const {
  return stop == StopReason::gradient || stop == StopReason::step || stop == StopReason::rounding ||
         stop == StopReason::at_bounds;
}

const char* stop_reason_name(StopReason reason) {
  switch (reason) {
    case StopReason::gradient:
      return "gradient";
    case StopReason::step:
      return "step";
    case StopReason::rounding:
      return "rounding";
    case StopReason::at_bounds:
      return "at bounds";
    case StopReason::singular:
      return "singular";
    case StopReason::no_progress:
      return "no progress";
    case StopReason::iteration_limit:
      return "iteration limit";
    case StopReason::non_finite:
      return "non-finite";
  }
  return "unknown";
}

Result<LeastSquaresFit> least_squares(const LeastSquaresProblem& problem,
                                      const LeastSquaresOptions& options) {
  if (const auto error = wrong_sizes(problem)) return fail(*error);
  const auto m = static_cast<Index>(problem.residual_count);
  const auto n = static_cast<Index>(problem.start.size());
  Model model{problem,
              m,
              n,
              copied(problem.lower, n, -infinity),
              copied(problem.upper, n, infinity),
              copied(problem.typical, n, 0),
              VectorXd()};
  if (problem.typical.empty())
    for (Index j = 0; j < n; ++j) {
      const double size = std::abs(problem.start[at(j)]);
      model.typical[j] = size > 0 ? size : 1;
    }
  if (const auto error = wrong_values(problem, model, options)) return fail(*error);
  return Driver(problem, options, model).run();
}

}  // namespace leafwright
