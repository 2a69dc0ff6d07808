#include "numeric/trust_region.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>
#include <utility>

namespace leafwright::trust_region {
namespace {

using RowMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

constexpr double epsilon = std::numeric_limits<double>::epsilon();
// A stop for want of visible progress counts as convergence up to this angle only.
constexpr double rounding_angle = 1e-6;
constexpr double infinity = std::numeric_limits<double>::infinity();

std::span<const double> view(const VectorXd& v) {
  return {v.data(), at(v.size())};
}

}  // namespace

bool Model::raw(const VectorXd& p, VectorXd& r) {
  ++evaluations;
  r.resize(m);
  problem.residuals(view(p), {r.data(), at(m)});
  return r.allFinite();
}

bool Model::weighted(const VectorXd& p, VectorXd& r) {
  raw(p, r);
  for (Index i = 0; i < m; ++i) r[i] = root_weight[i] == 0 ? 0 : r[i] * root_weight[i];
  return std::isfinite(r.squaredNorm());
}

bool Model::jacobian(const VectorXd& p, const VectorXd& r, MatrixXd& J) {
  J.resize(m, n);
  if (problem.jacobian) return given(p, J);
  for (Index j = 0; j < n; ++j)
    if (!difference(j, p, r, J)) return false;
  return true;
}

bool Model::given(const VectorXd& p, MatrixXd& J) const {
  RowMatrix rows(m, n);
  problem.jacobian(view(p), {rows.data(), at(m * n)});
  for (Index i = 0; i < m; ++i) {
    if (root_weight[i] == 0)
      J.row(i).setZero();
    else
      J.row(i) = root_weight[i] * rows.row(i);
  }
  for (Index j = 0; j < n; ++j)
    if (lower[j] == upper[j]) J.col(j).setZero();
  return J.allFinite();
}

bool Model::difference(Index j, const VectorXd& p, const VectorXd& r, MatrixXd& J) {
  static const double relative = std::cbrt(epsilon);
  if (lower[j] == upper[j]) {
    J.col(j).setZero();
    return true;
  }
  const double room_above = upper[j] - p[j], room_below = p[j] - lower[j];
  const double room = std::max(room_above, room_below);
  const double h = std::min(relative * std::max(std::abs(p[j]), 1e-3 * typical[j]), room / 2);
  VectorXd place = p;
  if (h <= room_above && h <= room_below) {
    VectorXd above, below;
    place[j] = p[j] + h;
    const double top = place[j];
    bool good = weighted(place, above);
    place[j] = p[j] - h;
    good = weighted(place, below) && good;
    if (good) {
      J.col(j) = (above - below) / (top - place[j]);
      return true;
    }
  }
  // At a bound, or where the model ends, look to the side that exists.
  return (2 * h <= room_above && one_sided(place, j, p[j] + h, r, J)) ||
         (2 * h <= room_below && one_sided(place, j, p[j] - h, r, J));
}

// `r` are the residuals where place[j] = 2 next - twice; `place` is left elsewhere.
bool Model::one_sided(VectorXd& place, Index j, double next, const VectorXd& r, MatrixXd& J) {
  VectorXd once, twice;
  const double here = place[j];
  place[j] = next;
  const double h = place[j] - here;
  bool good = weighted(place, once);
  place[j] = here + 2 * h;
  good = weighted(place, twice) && good;
  J.col(j) = (4 * once - twice - 3 * r) / (2 * h);
  place[j] = here;
  return good;
}

Subproblem::Subproblem(const MatrixXd& J, const VectorXd& r, const VectorXd& d)
    : inverse_scale_(d.cwiseInverse()) {
  const Index n = J.cols();
  const MatrixXd scaled = J * inverse_scale_.asDiagonal();
  const Eigen::HouseholderQR<MatrixXd> qr(scaled);
  const MatrixXd R = qr.matrixQR().topRows(n).triangularView<Eigen::Upper>();
  const VectorXd rotated = qr.householderQ().transpose() * r;
  const Eigen::JacobiSVD<MatrixXd> svd(R, Eigen::ComputeFullU | Eigen::ComputeFullV);
  s = svd.singularValues();
  c_ = svd.matrixU().transpose() * rotated.head(n);
  V = svd.matrixV();
}

Index Subproblem::rank(double tolerance) const {
  return s.size() == 0 || s[0] == 0 ? 0 : (s.array() > tolerance * s[0]).count();
}

VectorXd Subproblem::coefficients(double lambda, double tolerance) const {
  VectorXd a = VectorXd::Zero(s.size());
  const Index used = lambda == 0 ? rank(tolerance) : s.size();
  for (Index k = 0; k < used; ++k) a[k] = -s[k] * c_[k] / (s[k] * s[k] + lambda);
  return a;
}

VectorXd Subproblem::unscaled(const VectorXd& a) const {
  return inverse_scale_.cwiseProduct(V * a);
}

VectorXd Subproblem::step(double lambda, double tolerance) const {
  return unscaled(coefficients(lambda, tolerance));
}

// Newton's method on 1/length, safeguarded (More & Sorensen 1983, SIAM J Sci Stat Comput 4:553).
double Subproblem::damping(double radius, double tolerance, VectorXd& step) const {
  VectorXd a = coefficients(0, tolerance);
  double lambda = 0;
  if (a.norm() > 1.1 * radius) {
    double low = 0, high = s.cwiseProduct(c_).norm() / radius;
    lambda = 1e-3 * high;
    for (int i = 0; i < 100; ++i) {
      a = coefficients(lambda, tolerance);
      const double length = a.norm();
      if (std::abs(length - radius) <= 0.1 * radius) break;
      (length > radius ? low : high) = lambda;
      double slope = 0;  // of length^2/2
      for (Index k = 0; k < s.size(); ++k) slope -= a[k] * a[k] / (s[k] * s[k] + lambda);
      const double next = lambda - length * length / slope * (length - radius) / radius;
      const bool inside = next > low && next < high;
      lambda = inside ? next : std::max(0.5 * (low + high), 1e-3 * high);
    }
  }
  step = unscaled(a);
  return lambda;
}

LevenbergMarquardt::LevenbergMarquardt(Model& model, const LeastSquaresOptions& options,
                                       VectorXd start)
    : model_(model),
      options_(options),
      // Differences carry noise of about epsilon^(2/3): columns that depend on each other to
      // within it are dependent.
      rank_tolerance_(model.problem.jacobian ? 1e-13 : 1e-10) {
  now_.p = std::move(start);
}

bool LevenbergMarquardt::linearise() {
  if (!model_.jacobian(now_.p, now_.r, J_)) return false;
  ++iterations_;
  gradient_ = J_.transpose() * now_.r;
  find_free();
  set_scale();
  undamped_.reset();
  if (!free_.empty()) undamped_.emplace(columns(free_), now_.r, scales(free_));
  return true;
}

void LevenbergMarquardt::find_free() {
  free_.clear();
  bounds_.assign(at(model_.n), BoundState::free);
  for (Index j = 0; j < model_.n; ++j) {
    if (model_.lower[j] == model_.upper[j])
      bounds_[at(j)] = BoundState::fixed;
    else if (now_.p[j] <= model_.lower[j] && gradient_[j] >= 0)
      bounds_[at(j)] = BoundState::at_lower;
    else if (now_.p[j] >= model_.upper[j] && gradient_[j] <= 0)
      bounds_[at(j)] = BoundState::at_upper;
    else
      free_.push_back(j);
  }
}

// Column norms, never shrinking: a parameter that runs off to where the model is flat must not be
// given ever longer steps.
void LevenbergMarquardt::set_scale() {
  const VectorXd norms = J_.colwise().norm();
  if (scale_.size() == 0) {
    scale_ = norms;
    for (Index j = 0; j < scale_.size(); ++j)
      if (scale_[j] == 0 && bounds_[at(j)] != BoundState::fixed) scale_[j] = 1 / model_.typical[j];
  }
  scale_ = scale_.cwiseMax(norms);
  if (radius_ < 0) {
    const double size = scale_.cwiseProduct(now_.p).norm();
    radius_ = size > 0 ? size : 1;
  }
}

MatrixXd LevenbergMarquardt::columns(const std::vector<Index>& which) const {
  MatrixXd out(model_.m, static_cast<Index>(which.size()));
  for (Index k = 0; k < out.cols(); ++k) out.col(k) = J_.col(which[at(k)]);
  return out;
}

VectorXd LevenbergMarquardt::scales(const std::vector<Index>& which) const {
  VectorXd out(static_cast<Index>(which.size()));
  for (Index k = 0; k < out.size(); ++k) out[k] = scale_[which[at(k)]];
  return out;
}

std::optional<StopReason> LevenbergMarquardt::stationary() {
  angle_ = 0;
  if (free_.empty()) return StopReason::at_bounds;
  const double length = std::sqrt(now_.ssr);
  MatrixXd J = columns(free_);
  for (Index k = 0; k < J.cols(); ++k) {
    const double norm = J.col(k).norm();
    if (norm == 0) continue;
    J.col(k) /= norm;
    if (length > 0) angle_ = std::max(angle_, std::abs(gradient_[free_[at(k)]]) / (norm * length));
  }
  const bool orthogonal = angle_ <= options_.gradient_tolerance;
  bool still = true;
  const VectorXd step = undamped_->step(0, rank_tolerance_);
  for (Index k = 0; k < step.size(); ++k) {
    const Index j = free_[at(k)];
    const double size = std::abs(now_.p[j]) + 1e-6 * model_.typical[j];
    still = still && std::abs(step[k]) <= options_.step_tolerance * size;
  }
  if (!orthogonal && !still) return std::nullopt;
  const Subproblem normalised(J, now_.r, VectorXd::Ones(J.cols()));
  if (normalised.rank(rank_tolerance_) < J.cols()) return StopReason::singular;
  return orthogonal ? StopReason::gradient : StopReason::step;
}

// The parameter that stands on a bound although the model of the sum falls inward most; or -1.
Index LevenbergMarquardt::held_in_vain(const std::vector<bool>& moves, const VectorXd& step,
                                       double lambda) const {
  const VectorXd r = now_.r + J_ * step;
  const VectorXd slope = J_.transpose() * r + lambda * scale_.cwiseAbs2().cwiseProduct(step);
  Index worst = -1;
  double most = 1e-12 * r.norm();
  for (Index j = 0; j < model_.n; ++j) {
    if (moves[at(j)] || bounds_[at(j)] == BoundState::fixed || scale_[j] == 0) continue;
    const bool on_lower = now_.p[j] + step[j] <= model_.lower[j];
    const double inward = (on_lower ? -slope[j] : slope[j]) / scale_[j];
    if (inward > most) {
      most = inward;
      worst = j;
    }
  }
  return worst;
}

// Moves `step` towards `goal` up to the first bound; the parameter that met it, or -1.
Index LevenbergMarquardt::walk(const std::vector<Index>& moving, const VectorXd& goal,
                               VectorXd& step) const {
  double share = 1, wall = 0;
  Index first = -1;
  for (Index k = 0; k < goal.size(); ++k) {
    const Index j = moving[at(k)];
    const double way = goal[k] - step[j];
    const double limit = (way < 0 ? model_.lower[j] : model_.upper[j]) - now_.p[j];
    if (way < 0 ? goal[k] >= limit : goal[k] <= limit) continue;
    const double possible = std::max((limit - step[j]) / way, 0.0);
    if (possible >= share) continue;
    share = possible;
    wall = limit;
    first = j;
  }
  for (Index k = 0; k < goal.size(); ++k) {
    double& part = step[moving[at(k)]];
    part = share == 1 ? goal[k] : part + share * (goal[k] - part);
  }
  if (first >= 0) step[first] = wall;
  return first;
}

// Minimises the damped model of the sum within the bounds by an active set (Stark & Parker 1995,
// Computational Statistics 10:129): no pass raises the model, so the step points downhill
// wherever the current point is not a minimum.
VectorXd LevenbergMarquardt::bounded_step(double radius) const {
  VectorXd step = VectorXd::Zero(model_.n), goal;
  std::vector<bool> moves(at(model_.n), false);
  for (const Index j : free_) moves[at(j)] = true;
  double lambda = 0;
  for (Index pass = 0; pass < 4 * model_.n + 10; ++pass) {
    std::vector<Index> moving;
    VectorXd held = step;
    for (Index j = 0; j < model_.n; ++j) {
      if (!moves[at(j)]) continue;
      moving.push_back(j);
      held[j] = 0;
    }
    Index met = -1;
    if (!moving.empty()) {
      if (pass == 0)
        lambda = undamped_->damping(radius, rank_tolerance_, goal);
      else
        goal = Subproblem(columns(moving), now_.r + J_ * held, scales(moving))
                   .step(lambda, rank_tolerance_);
      met = walk(moving, goal, step);
    }
    if (met >= 0) {
      moves[at(met)] = false;
      continue;
    }
    const Index released = held_in_vain(moves, step, lambda);
    if (released < 0) break;
    moves[at(released)] = true;
  }
  return step;
}

LevenbergMarquardt::Point LevenbergMarquardt::after(const VectorXd& step) {
  Point trial;
  trial.p = (now_.p + step).cwiseMax(model_.lower).cwiseMin(model_.upper);
  trial.ssr = model_.weighted(trial.p, trial.r) ? trial.r.squaredNorm() : infinity;
  return trial;
}

// Tries steps within a shrinking radius until one lowers the sum.
std::optional<StopReason> LevenbergMarquardt::improve() {
  const double rounding = 16 * epsilon * std::sqrt(static_cast<double>(model_.m)) * now_.ssr;
  for (int attempt = 0; attempt < 200; ++attempt) {
    const VectorXd step = bounded_step(radius_);
    const double predicted = now_.ssr - (now_.r + J_ * step).squaredNorm();
    if (predicted <= rounding) break;

    Point trial = after(step);
    const double length = scale_.cwiseProduct(step).norm();
    const double ratio = (now_.ssr - trial.ssr) / predicted;
    if (ratio < 0.25)
      radius_ = (ratio > 0 ? 0.5 : 0.25) * std::min(radius_, length);
    else if (ratio > 0.75 && length > 0.9 * radius_)
      radius_ *= 2;
    if (ratio > 1e-4) {
      now_ = std::move(trial);
      polishing_ = false;
      return std::nullopt;
    }
    if (length <= 4 * epsilon * scale_.cwiseProduct(now_.p).norm()) break;
  }
  return polish();
}

// The sum no longer tells steps apart, but the angle, which is known far better, still does: take
// full Gauss-Newton steps while it falls (slowly, where residuals are large and the model bends).
// A parameter that stands a hair before a bound spoils the angle: first let it step onto it.
std::optional<StopReason> LevenbergMarquardt::polish() {
  if (polishing_ && angle_ > 0.95 * angle_before_polish_) {
    if (angle_ > angle_before_polish_) {
      now_ = std::move(before_polish_);
      if (!linearise()) return StopReason::non_finite;
      if (const auto stop = stationary()) return stop;
    }
    return StopReason::rounding;
  }
  Point trial = after(bounded_step(infinity));
  const auto on_bound = [this](const VectorXd& p) {
    return (p.array() == model_.lower.array() || p.array() == model_.upper.array()).count();
  };
  // Residuals that are small beside the data carry more rounding than their own size tells.
  const bool level = trial.ssr <= now_.ssr * (1 + 1e-9);
  if (level && on_bound(trial.p) > on_bound(now_.p)) {
    now_ = std::move(trial);
    polishing_ = false;
    return std::nullopt;
  }
  if (angle_ > rounding_angle) return StopReason::no_progress;
  if (!level) return StopReason::rounding;
  polishing_ = true;
  angle_before_polish_ = angle_;
  before_polish_ = std::exchange(now_, std::move(trial));
  return std::nullopt;
}

StopReason LevenbergMarquardt::run() {
  if (!model_.weighted(now_.p, now_.r)) return StopReason::non_finite;
  now_.ssr = now_.r.squaredNorm();
  for (;;) {
    if (!linearise()) return StopReason::non_finite;
    if (const auto stop = stationary()) return *stop;
    if (iterations_ >= options_.max_iterations) return StopReason::iteration_limit;
    if (const auto stop = improve()) return *stop;
  }
}

}  // namespace leafwright::trust_region
