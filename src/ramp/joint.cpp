#include "ramp/joint.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "numeric/least_squares.hpp"
#include "ramp/gas_path_filter.hpp"

namespace leafwright {

namespace {

constexpr double longest_step_s = 1;
constexpr std::size_t fewest_rows = 30;

/// The chamber with a leaf, stepped by the classical Runge-Kutta method of fourth order.
class Chamber {
 public:
  Chamber(const JointInput& input, const RampLeafModel& model)
      : in_(input), model_(model), R_(input.time_R, input.R) {
    const std::size_t n = in_.time.size();
    for (std::size_t i = 0; i + 1 < n; ++i) {
      const double h = in_.time[i + 1] - in_.time[i];
      const auto pieces = static_cast<std::size_t>(std::ceil(h / longest_step_s));
      steps_.push_back(std::max<std::size_t>(pieces, 1));
      const double half = h / static_cast<double>(2 * steps_.back());
      for (std::size_t k = 0; k < 2 * steps_.back(); ++k) {
        grid_.push_back(in_.time[i] + static_cast<double>(k) * half);
      }
    }
    grid_.push_back(in_.time.back());
  }

  /// CO2 of the chamber as the sample cell sees it, at the rows.
  void run(std::span<const double> leaf, double lag_s, std::vector<double>& C) {
    const std::vector<double> inlet = R_.apply(lag_s - in_.tau_s, 0, grid_);
    const std::size_t n = in_.time.size();
    C.resize(n);
    Ci_guess_ = inlet[0];
    C[0] = steady(leaf, inlet[0]);
    std::size_t at = 0;
    for (std::size_t i = 0; i + 1 < n; ++i) {
      double now = C[i];
      const double h = (in_.time[i + 1] - in_.time[i]) / static_cast<double>(steps_[i]);
      for (std::size_t k = 0; k < steps_[i]; ++k, at += 2) {
        const double k1 = rate(leaf, i, now, inlet[at]);
        const double k2 = rate(leaf, i, now + h / 2 * k1, inlet[at + 1]);
        const double k3 = rate(leaf, i, now + h / 2 * k2, inlet[at + 1]);
        const double k4 = rate(leaf, i, now + h * k3, inlet[at + 2]);
        now += h / 6 * (k1 + 2 * k2 + 2 * k3 + k4);
      }
      C[i + 1] = now;
    }
  }

  struct Uptake {
    double A = 0, Ci = 0;
  };
  /// Ci + A(Ci)/(g + E/2) = C (g - E/2)/(g + E/2): rises with Ci for every leaf whose A does.
  Uptake uptake(std::span<const double> leaf, std::size_t row, double C) {
    const double p = in_.g_plus[row], target = C * in_.g_minus[row] / p;
    const auto off = [&](double Ci) { return Ci + model_.A(Ci, leaf) / p - target; };
    double a = std::max(Ci_guess_, 1e-6), fa = off(a);
    double b = std::max(a - fa * 0.6, 1e-6), fb = off(b);
    for (int k = 0; k < 60 && std::abs(fb) > 1e-9; ++k) {
      const double slope = (fb - fa) / (b - a);
      const double next = slope > 0.2 ? b - fb / slope : b - fb;
      a = b;
      fa = fb;
      b = std::max(next, 1e-6);
      if (b == a) break;
      fb = off(b);
    }
    Ci_guess_ = b;
    return {p * (target - b), b};
  }

 private:
  double rate(std::span<const double> leaf, std::size_t row, double C, double inlet) {
    // n/u dC/dt = Cin - dil C - A/k
    const double A = uptake(leaf, row, C).A;
    return (inlet - in_.dilution[row] * C - A / in_.gain[row]) / in_.tau_s;
  }
  double steady(std::span<const double> leaf, double inlet) {
    double C = inlet;
    for (int k = 0; k < 200; ++k) {
      const double next = (inlet - uptake(leaf, 0, C).A / in_.gain[0]) / in_.dilution[0];
      if (std::abs(next - C) < 1e-9) break;
      C += 0.5 * (next - C);
    }
    return C;
  }

  const JointInput& in_;
  const RampLeafModel& model_;
  PathFilter R_;
  std::vector<std::size_t> steps_;
  std::vector<double> grid_;
  double Ci_guess_ = 100;
};

/// Residuals of S, then of the priors; everything in units of the noise of one row of S.
class Problem {
 public:
  Problem(const JointInput& input, const RampLeafModel& model)
      : in_(input), p_(model.symbols.size()), chamber_(input, model) {
    for (std::size_t i = 0; i < in_.use.size(); ++i) {
      if (in_.use[i] != 0) rows_.push_back(i);
    }
    // (lag, c0) ~ prior; the leaf's own record has drifted by itself.
    Eigen::Matrix2d V;
    const auto& path = in_.path_covariance;
    V << path[0], path[1], path[4], path[5] + in_.drift_sd * in_.drift_sd;
    V += Eigen::Matrix2d::Identity() * 1e-10;
    root_ = Eigen::LLT<Eigen::Matrix2d>(V.inverse()).matrixU();
    sd_ = std::max(std::hypot(in_.sd_S, 0.5 * in_.sd_R), 1e-4);
  }

  [[nodiscard]] std::size_t size() const { return rows_.size() + 2; }
  [[nodiscard]] double sd() const { return sd_; }
  [[nodiscard]] const std::vector<std::size_t>& rows() const { return rows_; }

  void residuals(std::span<const double> x, std::span<double> r) {
    chamber_.run(x.subspan(0, p_), x[p_], C_);
    for (std::size_t k = 0; k < rows_.size(); ++k) {
      r[k] = (C_[rows_[k]] + offset(C_[rows_[k]], x[p_ + 1]) - in_.S[rows_[k]]) / sd_;
    }
    const Eigen::Vector2d prior =
        root_ * Eigen::Vector2d(x[p_] - in_.lag_s, x[p_ + 1] - in_.offset[0]);
    r[rows_.size()] = prior[0];
    r[rows_.size() + 1] = prior[1];
  }
  [[nodiscard]] double offset(double C, double c0) const {
    const double x = C / 1000;
    return c0 + x * (in_.offset[1] + x * in_.offset[2]);
  }
  [[nodiscard]] const std::vector<double>& C() const { return C_; }
  Chamber& chamber() { return chamber_; }
  [[nodiscard]] const Eigen::Matrix2d& prior_root() const { return root_; }

 private:
  const JointInput& in_;
  std::size_t p_;
  Chamber chamber_;
  std::vector<std::size_t> rows_;
  std::vector<double> C_;
  Eigen::Matrix2d root_;
  double sd_ = 1;
};

Eigen::MatrixXd design_of(Problem& problem, std::vector<double> x) {
  const std::size_t p = x.size(), m = problem.size();
  Eigen::MatrixXd J(static_cast<Eigen::Index>(m), static_cast<Eigen::Index>(p));
  std::vector<double> up(m), down(m);
  for (std::size_t k = 0; k < p; ++k) {
    const double step = 1e-4 * std::max(std::abs(x[k]), 0.1), at = x[k];
    x[k] = at + step;
    problem.residuals(x, up);
    x[k] = at - step;
    problem.residuals(x, down);
    x[k] = at;
    for (std::size_t i = 0; i < m; ++i) {
      J(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(k)) =
          (up[i] - down[i]) / (2 * step);
    }
  }
  return J;
}

/// What one per cent of tau makes of the residuals; the lag stays as it is.
Eigen::VectorXd tau_effect(const JointInput& in, const RampLeafModel& model, Problem& problem,
                           const std::vector<double>& x) {
  JointInput slower = in;
  slower.tau_s *= 1.01;
  Problem changed(slower, model);
  std::vector<double> before(problem.size()), after(problem.size());
  problem.residuals(x, before);
  changed.residuals(x, after);
  Eigen::VectorXd out(static_cast<Eigen::Index>(before.size()));
  for (std::size_t i = 0; i < before.size(); ++i) {
    out[static_cast<Eigen::Index>(i)] = after[i] - before[i];
  }
  return out;
}

/// Variance of sum_i on_S[i] dS_i from white noise of both cells and the slow drift. The noise of R
/// reaches S through the chamber.
double variance_of(const JointInput& in, const std::vector<double>& on_S) {
  const auto on_R = noise_adjoint(in.time_R, in.lag_s - in.tau_s, in.tau_s, in.time, on_S);
  double out = 0, drift = 0;
  for (std::size_t i = 0; i < on_S.size(); ++i) {
    out += in.sd_S * in.sd_S * on_S[i] * on_S[i] + in.sd_R * in.sd_R * on_R[i] * on_R[i];
    if (i > 0) drift *= std::exp(-(in.time[i] - in.time[i - 1]) / in.drift_time_s);
    out += in.drift_sd * in.drift_sd * on_S[i] * (on_S[i] + 2 * drift);
    drift += on_S[i];
  }
  return out;
}

/// How an error of (lag, c0, c1, c2) as the empty record gave them moves one parameter, whose row
/// of (J'J)^-1 J' is `row`: the first two through the priors, the others through every row of S.
Eigen::Vector4d by_path(const JointInput& in, const Problem& problem, const Eigen::VectorXd& row) {
  Eigen::Vector4d out = Eigen::Vector4d::Zero();
  out.head(2) = problem.prior_root().transpose() * row.tail(2);
  for (std::size_t i = 0; i < problem.rows().size(); ++i) {
    const double x = in.S[problem.rows()[i]] / 1000;
    const double moved = row[static_cast<Eigen::Index>(i)] * x / problem.sd();
    out[2] -= moved;
    out[3] -= moved * x;
  }
  return out;
}

/// Variances of the linearised fit, empty for a parameter that moves no row. M = (J'J)^-1 J' turns
/// what disturbs S into what moves the parameters. The leaf's own drift widens the prior of c0 but
/// is counted where it acts, on S.
std::vector<std::optional<double>> variances_of(const JointInput& in, const RampLeafModel& model,
                                                Problem& problem, const std::vector<double>& x) {
  const Eigen::MatrixXd all = design_of(problem, x);
  std::vector<Eigen::Index> free;
  for (Eigen::Index k = 0; k < all.cols(); ++k) {
    if (all.col(k).norm() > 1e-6) free.push_back(k);
  }
  const Eigen::MatrixXd J = all(Eigen::all, free);
  const Eigen::MatrixXd M = (J.transpose() * J).ldlt().solve(J.transpose());
  const Eigen::VectorXd of_tau = M * tau_effect(in, model, problem, x) * (in.tau_error / 0.01);
  const Eigen::Matrix4d V = Eigen::Map<const Eigen::Matrix4d>(in.path_covariance.data());
  std::vector<std::optional<double>> out(x.size());
  for (std::size_t f = 0; f < free.size(); ++f) {
    const auto row = static_cast<Eigen::Index>(f);
    std::vector<double> on_S(in.time.size());
    for (std::size_t i = 0; i < problem.rows().size(); ++i) {
      on_S[problem.rows()[i]] = M(row, static_cast<Eigen::Index>(i)) / problem.sd();
    }
    const Eigen::Vector4d path = by_path(in, problem, M.row(row));
    out[static_cast<std::size_t>(free[f])] =
        variance_of(in, on_S) + path.dot(V * path) + of_tau[row] * of_tau[row];
  }
  return out;
}

}  // namespace

RampLeafModel c3_ramp_model(const C3Leaf& leaf, const Kinetics& kinetics,
                            const Electrons& electrons, bool rday_free) {
  const double none = std::numeric_limits<double>::infinity();
  const bool tpu = std::isfinite(leaf.TPU);
  RampLeafModel out;
  out.name = "C3";
  out.symbols = {"Vcmax", "J"};
  out.start = {leaf.Vcmax, leaf.J};
  if (tpu) {
    out.symbols.emplace_back("TPU");
    out.start.push_back(leaf.TPU);
  }
  if (rday_free) {
    out.symbols.emplace_back("Rday");
    out.start.push_back(leaf.Rday);
  }
  out.lower.assign(out.start.size(), 0);
  out.upper.assign(out.start.size(), none);
  out.A = [=](double Ci, std::span<const double> x) {
    C3Leaf now = leaf;
    now.Vcmax = x[0];
    now.J = x[1];
    if (tpu) now.TPU = x[2];
    if (rday_free) now.Rday = x[tpu ? 3 : 2];
    return c3_assimilation(Ci, now, kinetics, electrons).A;
  };
  return out;
}

RampLeafModel c4_ramp_model(const C4Leaf& leaf, const C4Kinetics& kinetics, double pressure,
                            bool rday_free) {
  const double none = std::numeric_limits<double>::infinity();
  RampLeafModel out;
  out.name = "C4";
  out.symbols = {"Vpmax", "Vcmax"};
  out.start = {leaf.Vpmax, leaf.Vcmax};
  if (rday_free) {
    out.symbols.emplace_back("Rday");
    out.start.push_back(leaf.Rday);
  }
  out.lower.assign(out.start.size(), 0);
  out.upper.assign(out.start.size(), none);
  out.A = [=](double Ci, std::span<const double> x) {
    C4Leaf now = leaf;
    now.Vpmax = x[0];
    now.Vcmax = x[1];
    if (rday_free) now.Rday = x[2];
    return c4_enzyme_limited_linear(Ci * pressure / 100, now, kinetics);
  };
  return out;
}

Result<JointFit> fit_joint(const JointInput& input, const RampLeafModel& model) {
  Problem problem(input, model);
  if (problem.rows().size() < fewest_rows) {
    return fail(ErrorCode::unfit,
                "the record has " + std::to_string(problem.rows().size()) +
                    " rows that the model can be fitted to",
                "at least " + std::to_string(fewest_rows));
  }
  const double none = std::numeric_limits<double>::infinity();
  LeastSquaresProblem least;
  least.residual_count = problem.size();
  least.residuals = [&](std::span<const double> x, std::span<double> r) {
    problem.residuals(x, r);
  };
  least.start = model.start;
  least.lower = model.lower;
  least.upper = model.upper;
  least.start.insert(least.start.end(), {input.lag_s, input.offset[0]});
  least.lower.insert(least.lower.end(), {-none, -none});
  least.upper.insert(least.upper.end(), {none, none});
  least.typical.assign(least.start.size(), 1);
  for (std::size_t k = 0; k < model.start.size(); ++k) {
    least.typical[k] = std::max(std::abs(model.start[k]), 1.0);
  }
  LeastSquaresOptions options;
  options.gradient_tolerance = 1e-6;
  options.step_tolerance = 1e-7;
  options.max_iterations = 60;
  const auto fit = least_squares(least, options);
  if (!fit) return fail(fit.error());
  JointFit out;
  out.model = model.name;
  out.iterations = fit->iterations;
  out.converged = fit->converged() || fit->angle < 1e-3;
  out.stop = stop_reason_name(fit->stop);
  const auto variances = variances_of(input, model, problem, fit->parameters);
  const std::size_t p = model.symbols.size();
  for (std::size_t k = 0; k < p + 2; ++k) {
    JointParameter one;
    one.symbol = k < p ? model.symbols[k] : k == p ? "lag" : "c0";
    one.unit = k < p ? "umol m-2 s-1" : k == p ? "s" : "umol mol-1";
    one.value = fit->parameters[k];
    one.identified = variances[k].has_value();
    one.se = std::sqrt(variances[k].value_or(0));
    out.parameters.push_back(std::move(one));
  }
  std::vector<double> r(problem.size());
  problem.residuals(fit->parameters, r);
  const std::span<const double> leaf(fit->parameters.data(), p);
  double sum = 0;
  for (std::size_t i = 0; i < input.time.size(); ++i) {
    const double C = problem.C()[i];
    const auto now = problem.chamber().uptake(leaf, i, C);
    out.C.push_back(C);
    out.A.push_back(now.A);
    out.Ci.push_back(now.Ci);
    out.residual.push_back(input.S[i] - C - problem.offset(C, fit->parameters[p + 1]));
    if (input.use[i] != 0) sum += out.residual.back() * out.residual.back();
  }
  out.rmse = std::sqrt(sum / static_cast<double>(problem.rows().size()));
  return out;
}

}  // namespace leafwright
