#include "fit/joint_chain.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

using Eigen::Index;
using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, 4, 1>;
using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, 4, 4>;

constexpr double half_t_df = 2;
constexpr int steps_a_sweep = 3;

/// Gamma(shape, 1): Marsaglia & Tsang 2000, ACM TOMS 26:363; shape > 0.
double gamma_deviate(RandomStream& random, double shape) {
  if (shape < 1) {
    const double u = 1 - random.uniform();
    return gamma_deviate(random, shape + 1) * std::pow(u, 1 / shape);
  }
  const double d = shape - 1.0 / 3.0, c = 1 / std::sqrt(9 * d);
  for (;;) {
    const double x = random.normal(), t = 1 + c * x;
    if (t <= 0) continue;
    const double v = t * t * t, u = 1 - random.uniform();
    if (std::log(u) < 0.5 * x * x + d - d * v + d * std::log(v)) return d * v;
  }
}

Vector normal_vector(RandomStream& random, Index size) {
  Vector z(size);
  for (Index k = 0; k < size; ++k) z[k] = random.normal();
  return z;
}

/// Omega ~ IW(df, scale), through a Wishart of the inverse (Bartlett 1933).
Matrix inverse_wishart(RandomStream& random, double df, const Matrix& scale) {
  const Index p = scale.rows();
  const Matrix lower = Matrix(scale.inverse()).llt().matrixL();
  Matrix bartlett = Matrix::Zero(p, p);
  for (Index i = 0; i < p; ++i) {
    bartlett(i, i) = std::sqrt(2 * gamma_deviate(random, (df - static_cast<double>(i)) / 2));
    for (Index j = 0; j < i; ++j) bartlett(i, j) = random.normal();
  }
  const Matrix root = lower * bartlett;
  return Matrix(root * root.transpose()).inverse();
}

/// The sum of squares at theta: the model of problem.hpp, with capacities as logarithms.
double ssr_at(const C3Problem& p, const Vector& theta) {
  const bool tpu = p.permitted.tpu;
  const double V = std::exp(theta[0]), J = std::exp(theta[1]);
  const double T = tpu ? std::exp(theta[2]) : 0, R = theta[tpu ? 3 : 2];
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const bool rubisco_below_rubp = V * p.r[i] <= J;
    double rate = rubisco_below_rubp ? V * p.xc[i] : J * p.xj[i];
    if (tpu && p.s[i] > 0) {
      const bool limits = rubisco_below_rubp ? T < V * p.u[i] : T < J * p.s[i];
      if (limits) rate = T * p.xp[i];
    }
    const double e = p.A[i] - rate + p.d[i] * R;
    sum += p.w[i] * e * e;
  }
  return sum;
}

struct LeafState {
  Vector theta;
  double ssr = 0;
  Matrix step;  ///< lower root of the proposal's covariance
  double log_scale = 0;
  Vector mean;  ///< of the warming-up, for the adapted step
  Matrix moment;
  std::size_t seen = 0;
};

class Chain {
 public:
  Chain(const JointTarget& target, RandomStream random)
      : target_(target), random_(random), p_(static_cast<Index>(target.parameters())) {
    for (std::size_t l = 0; l < target.leaves.size(); ++l) leaves_.push_back(started(l));
    a_ = Vector::Ones(p_);
    omega_ = Matrix::Identity(p_, p_) * 0.04;
    precision_ = omega_.inverse();
    mu_ = mean_theta();
    draw_sigma();
  }

  void sweep(bool warming, std::size_t number, JointDraws* draws) {
    for (LeafState& leaf : leaves_) move(leaf, target_.leaves[index_of(leaf)], warming, draws);
    draw_mu();
    draw_omega();
    draw_sigma();
    if (warming) adapt(number);
  }

  void keep(JointDraws& draws) const {
    std::size_t at = 0;
    const auto put = [&](double value) { draws.series[at++].push_back(value); };
    for (const LeafState& leaf : leaves_) {
      for (Index k = 0; k < p_; ++k) put(leaf.theta[k]);
    }
    for (Index k = 0; k < p_; ++k) put(mu_[k]);
    for (Index k = 0; k < p_; ++k) put(std::sqrt(omega_(k, k)));
    put(std::sqrt(variance_));
  }

 private:
  std::size_t index_of(const LeafState& leaf) const {
    return static_cast<std::size_t>(&leaf - leaves_.data());
  }

  LeafState started(std::size_t l) {
    LeafState leaf;
    leaf.theta = Vector(p_);
    leaf.step = Matrix::Identity(p_, p_);
    for (Index k = 0; k < p_; ++k) {
      const double spread = k + 1 < p_ ? 0.1 : 0.3;
      leaf.theta[k] = target_.start[l][static_cast<std::size_t>(k)] + spread * random_.normal();
      leaf.step(k, k) = k + 1 < p_ ? 0.03 : 0.1;
    }
    leaf.ssr = ssr_at(target_.leaves[l], leaf.theta);
    leaf.mean = Vector::Zero(p_);
    leaf.moment = Matrix::Zero(p_, p_);
    return leaf;
  }

  Vector mean_theta() const {
    Vector sum = Vector::Zero(p_);
    for (const LeafState& leaf : leaves_) sum += leaf.theta;
    return sum / static_cast<double>(leaves_.size());
  }

  double prior(const Vector& theta) const {
    const Vector d = theta - mu_;
    return d.dot(precision_ * d);
  }

  void move(LeafState& leaf, const C3Problem& problem, bool warming, JointDraws* draws) {
    for (int n = 0; n < steps_a_sweep; ++n) {
      const Vector to =
          leaf.theta + std::exp(leaf.log_scale) * (leaf.step * normal_vector(random_, p_));
      const double ssr = ssr_at(problem, to);
      const double gain = 0.5 * ((leaf.ssr - ssr) / variance_ + prior(leaf.theta) - prior(to));
      const double u = 1 - random_.uniform();
      const bool taken = std::isfinite(ssr) && std::log(u) < gain;
      if (taken) {
        leaf.theta = to;
        leaf.ssr = ssr;
      }
      if (warming) leaf.log_scale += 0.03 * ((taken ? 1.0 : 0.0) - 0.3);
      if (draws != nullptr) {
        ++draws->tried;
        draws->taken += taken ? 1 : 0;
      }
    }
    if (!warming) return;
    leaf.mean += leaf.theta;
    leaf.moment += leaf.theta * leaf.theta.transpose();
    ++leaf.seen;
  }

  void draw_mu() {
    const Matrix root = Matrix(omega_ / static_cast<double>(leaves_.size())).llt().matrixL();
    mu_ = mean_theta() + root * normal_vector(random_, p_);
  }

  void draw_omega() {
    Matrix scale = Matrix::Zero(p_, p_);
    for (const LeafState& leaf : leaves_) {
      const Vector d = leaf.theta - mu_;
      scale += d * d.transpose();
    }
    for (Index k = 0; k < p_; ++k) scale(k, k) += 2 * half_t_df / a_[k];
    const double df = half_t_df + static_cast<double>(p_) - 1 + static_cast<double>(leaves_.size());
    omega_ = inverse_wishart(random_, df, scale);
    precision_ = omega_.inverse();
    for (Index k = 0; k < p_; ++k) {
      const double A = target_.prior_sd[static_cast<std::size_t>(k)];
      const double rate = half_t_df * precision_(k, k) + 1 / (A * A);
      a_[k] = rate / gamma_deviate(random_, (half_t_df + static_cast<double>(p_)) / 2);
    }
  }

  void draw_sigma() {
    double ssr = 0;
    for (const LeafState& leaf : leaves_) ssr += leaf.ssr;
    variance_ = 0.5 * ssr / gamma_deviate(random_, 0.5 * static_cast<double>(target_.rows));
  }

  /// The proposal's covariance becomes that of the draws of the last stretch of warming up.
  void adapt(std::size_t number) {
    if (number != 100 && number != 250 && number != 500) return;
    for (LeafState& leaf : leaves_) {
      const auto n = static_cast<double>(leaf.seen);
      const Vector mean = leaf.mean / n;
      Matrix covariance = leaf.moment / n - mean * mean.transpose();
      for (Index k = 0; k < p_; ++k) covariance(k, k) += 1e-8;
      const Eigen::LLT<Matrix> root(covariance);
      if (root.info() == Eigen::Success) {
        leaf.step = Matrix(root.matrixL()) * (2.38 / std::sqrt(static_cast<double>(p_)));
        leaf.log_scale = 0;
      }
      leaf.mean.setZero();
      leaf.moment.setZero();
      leaf.seen = 0;
    }
  }

  const JointTarget& target_;
  RandomStream random_;
  Index p_;
  std::vector<LeafState> leaves_;
  Vector mu_, a_;
  Matrix omega_, precision_;
  double variance_ = 1;
};

double mean_of(std::span<const double> x) {
  double sum = 0;
  for (const double v : x) sum += v;
  return sum / static_cast<double>(x.size());
}

double covariance_at(std::span<const double> x, double mean, std::size_t lag) {
  double sum = 0;
  for (std::size_t i = lag; i < x.size(); ++i) sum += (x[i] - mean) * (x[i - lag] - mean);
  return sum / static_cast<double>(x.size());
}

}  // namespace

JointDraws run_joint_chain(const JointTarget& target, std::size_t warm_up, std::size_t sweeps,
                           RandomStream random, const std::function<bool()>& tick) {
  Chain chain(target, random);
  JointDraws draws;
  draws.series.resize((target.leaves.size() + 2) * target.parameters() + 1);
  for (std::vector<double>& series : draws.series) series.reserve(sweeps);
  for (std::size_t n = 1; n <= warm_up; ++n) {
    chain.sweep(true, n, nullptr);
    if (!tick()) return draws;
  }
  for (std::size_t n = 1; n <= sweeps; ++n) {
    chain.sweep(false, n, &draws);
    chain.keep(draws);
    if (!tick()) break;
  }
  return draws;
}

double split_rhat(const std::vector<std::vector<double>>& chains) {
  std::vector<double> means, variances;
  std::size_t half = 0;
  for (const std::vector<double>& chain : chains) {
    half = chain.size() / 2;
    for (const std::size_t from : {std::size_t{0}, chain.size() - half}) {
      const std::span<const double> part(chain.data() + from, half);
      const double mean = mean_of(part);
      means.push_back(mean);
      variances.push_back(covariance_at(part, mean, 0) * static_cast<double>(half) /
                          static_cast<double>(half - 1));
    }
  }
  const double within = mean_of(variances), grand = mean_of(means);
  double between = 0;
  for (const double m : means) between += (m - grand) * (m - grand);
  between /= static_cast<double>(means.size() - 1);
  if (within <= 0) return between <= 0 ? 1 : std::numeric_limits<double>::infinity();
  const auto n = static_cast<double>(half);
  return std::sqrt(((n - 1) / n * within + between) / within);
}

double independent_draws(const std::vector<std::vector<double>>& chains) {
  std::vector<double> all_means;
  double all = 0;
  std::size_t shortest = std::numeric_limits<std::size_t>::max();
  for (const std::vector<double>& chain : chains) {
    all_means.push_back(mean_of(chain));
    all += static_cast<double>(chain.size());
    shortest = std::min(shortest, chain.size());
  }
  const double grand = mean_of(all_means);
  const auto at_lag = [&](std::size_t lag) {
    double sum = 0;
    for (const std::vector<double>& chain : chains) sum += covariance_at(chain, grand, lag);
    return sum;
  };
  const double variance = at_lag(0);
  if (variance <= 0) return all;
  double sum = 0;
  for (std::size_t lag = 1; lag + 1 < shortest; lag += 2) {
    const double pair = (at_lag(lag) + at_lag(lag + 1)) / variance;
    // The first pair holds rho at lags 1 and 2; it stops where a pair is no longer positive.
    if (pair <= 0) break;
    sum += pair;
  }
  return std::min(all, all / (1 + 2 * sum));
}

}  // namespace leafwright
