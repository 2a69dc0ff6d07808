#include "fit/small_fit.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr int most_iterations = 80;
constexpr double farthest = 1e5;  // times the scale of a parameter, in a profile

using Matrix = std::array<Parameters, most_parameters>;

double sum_of(const std::vector<double>& r) {
  double sum = 0;
  for (const double x : r) sum += x * x;
  return sum;
}

/// Solves H s = g for the first n parameters by H = L D L' with a unit diagonal of L; false where H
/// is not positive definite.
bool cholesky_solve(Matrix H, const Parameters& g, std::size_t n, Parameters& s) {
  Parameters inverse{};
  for (std::size_t j = 0; j < n; ++j) {
    Parameters scaled{};
    double d = H[j][j];
    for (std::size_t k = 0; k < j; ++k) {
      scaled[k] = H[j][k];
      H[j][k] *= inverse[k];
      d -= H[j][k] * scaled[k];
    }
    if (!(d > 0)) return false;
    inverse[j] = 1 / d;
    for (std::size_t i = j + 1; i < n; ++i) {
      for (std::size_t k = 0; k < j; ++k) H[i][j] -= H[i][k] * H[j][k];
    }
  }
  for (std::size_t i = 0; i < n; ++i) {
    double v = g[i];
    for (std::size_t k = 0; k < i; ++k) v -= H[i][k] * s[k];
    s[i] = v;
  }
  for (std::size_t i = n; i-- > 0;) {
    double v = s[i] * inverse[i];
    for (std::size_t k = i + 1; k < n; ++k) v -= H[k][i] * s[k];
    s[i] = v;
  }
  return true;
}

class Minimiser {
 public:
  Minimiser(const SmoothTarget& target, const ParameterBox& box, Parameters start)
      : target_(target),
        box_(box),
        p_(start),
        r_(target.rows()),
        trial_r_(target.rows()),
        J_(target.rows() * most_parameters),
        trial_J_(target.rows() * most_parameters) {
    for (std::size_t j = 0; j < most_parameters; ++j) {
      if (box_.free[j]) p_[j] = std::clamp(p_[j], box_.lower[j], box_.upper[j]);
    }
  }

  SmallMinimum run() {
    SmallMinimum out;
    if (!target_.evaluate(p_, r_.data(), J_.data())) return {p_, infinity, false};
    ssr_ = sum_of(r_);
    for (int i = 0; i < most_iterations && !out.converged; ++i) {
      out.converged = iterate();
      if (i >= 3 && ssr_ - 2 * promised_ > box_.hopeless_above) break;
      if (box_.known != nullptr && near_known()) break;
    }
    out.p = p_;
    out.ssr = ssr_;
    return out;
  }

 private:
  /// Close enough to a known minimum, and not below it, to be on the way there.
  [[nodiscard]] bool near_known() const {
    constexpr double close = 2e-3;
    const SmallMinimum& known = *box_.known;
    if (ssr_ < known.ssr || ssr_ > known.ssr * (1 + close)) return false;
    for (std::size_t j = 0; j < most_parameters; ++j) {
      if (!box_.free[j]) continue;
      if (!(std::abs(p_[j] - known.p[j]) <= close * std::abs(known.p[j]))) return false;
    }
    return true;
  }

  /// One accepted step; true where there is no better place to go.
  bool iterate() {
    linearise();
    if (count_ == 0) return true;
    for (int attempt = 0; attempt < 30; ++attempt) {
      Matrix H = H_;
      for (std::size_t j = 0; j < count_; ++j) H[j][j] *= 1 + damping_;
      Parameters s{};
      if (!cholesky_solve(H, g_, count_, s)) {
        damping_ = std::max(10 * damping_, 1e-8);
        continue;
      }
      Parameters q = p_;
      double moved = 0;
      promised_ = 0;
      for (std::size_t j = 0; j < count_; ++j) promised_ += g_[j] * s[j];
      if (damping_ < 1e-3 && promised_ <= box_.least_gain * ssr_) return true;
      for (std::size_t j = 0; j < count_; ++j) {
        const std::size_t k = which_[j];
        q[k] = std::clamp(p_[k] - s[j], box_.lower[k], box_.upper[k]);
        moved = std::max(moved, std::abs(q[k] - p_[k]) / (std::abs(p_[k]) + 1e-12));
      }
      if (moved < 1e-11) return true;
      const bool computed = target_.evaluate(q, trial_r_.data(), trial_J_.data());
      const double ssr = computed ? sum_of(trial_r_) : infinity;
      if (ssr < ssr_) return accept(q, ssr);
      if (moved < 1e-7) return true;
      damping_ = std::max(8 * damping_, 1e-6);
    }
    return true;
  }

  bool accept(const Parameters& q, double ssr) {
    const double gain = ssr_ - ssr;
    const bool done = gain <= box_.least_gain * ssr_;
    p_ = q;
    ssr_ = ssr;
    r_.swap(trial_r_);
    J_.swap(trial_J_);
    if (gain < 0.25 * promised_) {
      // The straight model overshoots: steps to and fro would take long to settle.
      damping_ = std::max(4 * damping_, 1e-2);
    } else {
      damping_ *= 0.1;
      if (damping_ < 1e-10) damping_ = 0;
    }
    return done;
  }

  /// Normal equations over the parameters that may move.
  void linearise() {
    Parameters g{};
    Matrix H{};
    const std::size_t rows = r_.size();
    for (std::size_t j = 0; j < most_parameters; ++j) {
      if (!box_.free[j]) continue;
      // One pass a column; five sums in registers cost less than the tests which of them matter.
      const double* row = J_.data();
      double gj = 0, h0 = 0, h1 = 0, h2 = 0, h3 = 0, h4 = 0;
      for (std::size_t i = 0; i < rows; ++i, row += most_parameters) {
        const double x = row[j];
        gj += x * r_[i];
        h0 += x * row[0];
        h1 += x * row[1];
        h2 += x * row[2];
        h3 += x * row[3];
        h4 += x * row[4];
      }
      g[j] = gj;
      H[j] = {h0, h1, h2, h3, h4};
    }
    count_ = 0;
    for (std::size_t j = 0; j < most_parameters; ++j) {
      if (!box_.free[j] || !(H[j][j] > 0)) continue;
      if (p_[j] <= box_.lower[j] && g[j] > 0) continue;
      if (p_[j] >= box_.upper[j] && g[j] < 0) continue;
      which_[count_++] = j;
    }
    for (std::size_t j = 0; j < count_; ++j) {
      g_[j] = g[which_[j]];
      for (std::size_t k = 0; k <= j; ++k) H_[j][k] = H[which_[j]][which_[k]];
    }
  }

  const SmoothTarget& target_;
  const ParameterBox& box_;
  Parameters p_, g_{};
  std::vector<double> r_, trial_r_, J_, trial_J_;
  Matrix H_{};
  std::array<std::size_t, most_parameters> which_{};
  std::size_t count_ = 0;
  double ssr_ = infinity, damping_ = 1e-5, promised_ = infinity;
};

/// The profile of one parameter in the coordinate in which it is walked.
class Walk {
 public:
  Walk(const CurveModel& model, SmallMinimum& best, std::size_t k, double threshold)
      : model_(model), spec_(model.specs()[k]), k_(k), best_(best), threshold_(threshold) {
    for (std::size_t j = 0; j < model.specs().size(); ++j) {
      if (model.specs()[j].fixed) held_[j] = best.p[j];
    }
    const double value = value_of(spec_, best.p[k]);
    u_best_ = spec_.capacity ? 1 / value : value;
    double largest = 0;
    for (const double A : model.observed()) largest = std::max(largest, std::abs(A));
    scale_ = spec_.capacity ? 1 / std::max(largest, 1e-6) : std::max(largest, 1e-6);
    if (spec_.capacity && u_best_ > 0) scale_ = u_best_;
  }

  SmallExtent extent() {
    // The end at 0 of the coordinate: an infinite capacity (open above), or Rday = 0.
    const std::optional<double> near_zero = end_towards_zero();
    const std::optional<double> far = end_away();
    if (!spec_.capacity) return {near_zero.value_or(0), far};
    SmallExtent out;
    out.low = far ? 1 / *far : 0;
    if (near_zero) out.high = 1 / *near_zero;
    return out;
  }

 private:
  double excess(double u) {
    held_[k_] = spec_.capacity && !spec_.reciprocal ? 1 / u : u;
    // From the last place within the limit; a place beyond it may lie in another valley, and is
    // only asked where that way leads beyond the limit too.
    const std::span<const Parameters> from(nears_.data(), has_beyond_ ? 2 : 1);
    const SmallMinimum m = model_.solve_from(held_, from, threshold_);
    if (m.ssr <= threshold_) {
      nears_[0] = m.p;
    } else if (m.ssr < infinity) {
      nears_[1] = m.p;
      has_beyond_ = true;
    }
    if (m.ssr < best_.ssr) best_ = m;
    // Near the best value sqrt(SSR - least) is straight, which is what the root search wants.
    return std::sqrt(std::max(0.0, m.ssr - best_.ssr)) - std::sqrt(threshold_ - best_.ssr);
  }

  void begin() {
    nears_[0] = best_.p;
    has_beyond_ = false;
    last_ = 0;
  }

  std::optional<double> end_towards_zero() {
    begin();
    const double at_zero = u_best_ > 0 ? excess(0) : -1;
    if (!(at_zero > 0)) return {};
    // A plateau that grows together with Rday has no limit at infinity, only ever larger values.
    double outer = 0, f_outer = at_zero;
    if (spec_.capacity) {
      outer = u_best_ / farthest;
      begin();
      f_outer = excess(outer);
      if (!(f_outer > 0)) return {};
    }
    begin();
    return root(u_best_, -std::sqrt(std::max(0.0, threshold_ - best_.ssr)), outer, f_outer);
  }

  std::optional<double> end_away() {
    begin();
    double inner = u_best_, f_inner = -std::sqrt(std::max(0.0, threshold_ - best_.ssr));
    double step = 0.1 * std::max(scale_, u_best_);
    for (int i = 0; i < 40; ++i) {
      const double outer = u_best_ + step;
      // So far out that the rows say nothing any more: open (or, of a capacity, down to 0).
      if (outer > farthest * std::max(scale_, u_best_)) return {};
      const double f = excess(outer);
      if (f == infinity) return {};  // beyond what the model allows
      if (f > 0) return root(inner, f_inner, outer, f);
      inner = outer;
      f_inner = f;
      step *= 2.5;
    }
    return {};
  }

  /// Illinois; f(a) <= 0 < f(b).
  double root(double a, double fa, double b, double fb) {
    if (!(fb < infinity)) fb = 1;
    for (int i = 0; i < 60 && std::abs(b - a) > 1e-8 * std::max(std::abs(a), std::abs(b)); ++i) {
      double x = fa < 0 ? (a * fb - b * fa) / (fb - fa) : (a + b) / 2;
      if (i > 12) x = (a + b) / 2;
      const double f = excess(x);
      if (std::abs(f) <= 1e-8 * std::sqrt(threshold_)) return x;
      if (f > 0) {
        b = x;
        fb = f < infinity ? f : 1;
        fa /= i > 0 && last_ > 0 ? 2 : 1;
      } else {
        a = x;
        fa = f;
        fb /= i > 0 && last_ < 0 ? 2 : 1;
      }
      last_ = f > 0 ? 1 : -1;
    }
    return a;
  }

  const CurveModel& model_;
  const ParameterSpec& spec_;
  std::size_t k_;
  SmallMinimum& best_;
  double threshold_, u_best_ = 0, scale_ = 1;
  HeldParameters held_;
  std::array<Parameters, 2> nears_{};  ///< the last place within the limit, and beyond it
  bool has_beyond_ = false;
  int last_ = 0;
};

/// Standard errors of the design's parameters, in their stored form.
std::vector<std::optional<double>> errors_of(const Design& d, double variance) {
  const std::size_t n = d.columns.size();
  Matrix H{};
  for (std::size_t i = 0; i < d.rows; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      for (std::size_t k = 0; k <= j; ++k) H[j][k] += d.X[i * n + j] * d.X[i * n + k];
    }
  }
  std::vector<std::optional<double>> out(n);
  for (std::size_t j = 0; j < n; ++j) {
    Parameters unit{}, s{};
    unit[j] = 1;
    // Scaled columns, so that the test of definiteness does not depend on units.
    Matrix scaled = H;
    Parameters root{};
    for (std::size_t a = 0; a < n; ++a) root[a] = std::sqrt(H[a][a]);
    for (std::size_t a = 0; a < n; ++a) {
      for (std::size_t b = 0; b <= a; ++b) scaled[a][b] /= root[a] * root[b];
    }
    if (!cholesky_solve(scaled, unit, n, s) || !(s[j] < 1e12)) return out;
    out[j] = std::sqrt(variance * s[j]) / root[j];
  }
  return out;
}

void set_status(Estimate& e, bool capacity) {
  if (!capacity) {
    e.status = !e.high ? Status::not_identified
                       : (e.value == 0.0 ? Status::upper_bound : Status::estimated);
    return;
  }
  const bool low = e.low.has_value() && *e.low > 0, high = e.high.has_value();
  e.status = low ? (high ? Status::estimated : Status::lower_bound)
                 : (high ? Status::upper_bound : Status::not_identified);
}

/// What the estimates of one solution share: its design, standard errors and widening.
class Spread {
 public:
  Spread(const CurveModel& model, const SmallMinimum& best, const SmallIntervals& how)
      : model_(model), how_(how), possible_(model.rows() > model.counted()) {
    const Design design = small_design(model, best.p, which_);
    const double df = static_cast<double>(model.rows()) - static_cast<double>(model.counted());
    se_ = errors_of(design, possible_ ? best.ssr / df : 0);
    if (how.correlation && possible_ && !which_.empty()) wide_ = widen(design, *how.correlation);
  }

  Estimate estimate(SmallMinimum& best, std::size_t k) const {
    const ParameterSpec& spec = model_.specs()[k];
    Estimate e;
    e.symbol = spec.symbol;
    e.unit = spec.unit;
    if (spec.absent) return e;
    const double value = value_of(spec, best.p[k]);
    const bool limits = value < infinity;
    if (limits) e.value = value;
    if (spec.fixed) {
      e.status = Status::fixed;
      return e;
    }
    const auto column = column_of(k);
    if (column && possible_ && se_[*column]) {
      e.se = *se_[*column] * (spec.reciprocal ? value * value : 1);
    }
    if (!how_.profile || !possible_) {
      e.status = limits && possible_ ? Status::estimated : Status::not_identified;
      return e;
    }
    add_interval(e, best, k, limits);
    return e;
  }

 private:
  [[nodiscard]] std::optional<std::size_t> column_of(std::size_t k) const {
    const auto found = std::find(which_.begin(), which_.end(), k);
    if (found == which_.end()) return {};
    return static_cast<std::size_t>(found - which_.begin());
  }

  void add_interval(Estimate& e, SmallMinimum& best, std::size_t k, bool limits) const {
    // A capacity that limits no row is bounded on one side, at a one-sided level.
    const double level = limits ? how_.level : 2 * how_.level - 1;
    const SmallExtent plain =
        small_profile(model_, best, k, profile_threshold(model_, best.ssr, level));
    e.low = plain.low;
    e.high = plain.high;
    if (wide_) {
      const auto column = column_of(k);
      const double factor = column ? wide_->factor[*column] : wide_->largest();
      const double asked = best.ssr * (1 + factor * f_quantile(level, 1, wide_->df));
      const double least = profile_threshold(model_, best.ssr, 0.01);
      const SmallExtent w = small_profile(model_, best, k, std::max(asked, least));
      e.low_widened = w.low;
      e.high_widened = w.high;
    }
    set_status(e, model_.specs()[k].capacity);
    if (limits) return;
    if (e.low == 0.0) e.low.reset();
    if (e.low_widened == 0.0) e.low_widened.reset();
  }

  const CurveModel& model_;
  const SmallIntervals& how_;
  bool possible_;
  std::vector<std::size_t> which_;
  std::vector<std::optional<double>> se_;
  std::optional<Widening> wide_;
};

}  // namespace

SmallMinimum minimise(const SmoothTarget& target, const ParameterBox& box, Parameters start) {
  return Minimiser(target, box, start).run();
}

SmallMinimum CurveModel::solve_from(const HeldParameters& held, std::span<const Parameters> nears,
                                    double enough) const {
  SmallMinimum best;
  best.ssr = infinity;
  for (const Parameters& near : nears) {
    const SmallMinimum m = solve(held, &near);
    if (m.ssr < best.ssr) best = m;
    if (best.ssr <= enough) break;
  }
  return best;
}

std::size_t CurveModel::counted() const {
  return static_cast<std::size_t>(
      std::count_if(specs().begin(), specs().end(),
                    [](const ParameterSpec& s) { return s.counted && !s.fixed && !s.absent; }));
}

double value_of(const ParameterSpec& spec, double stored) {
  if (!spec.reciprocal) return stored;
  return stored > 0 ? 1 / stored : infinity;
}

double profile_threshold(const CurveModel& model, double ssr, double level) {
  const auto df = static_cast<double>(model.rows()) - static_cast<double>(model.counted());
  double scale = 0;
  for (const double A : model.observed()) scale += A * A;
  return std::max(ssr + 1e-12 * scale, ssr * (1 + f_quantile(level, 1, df) / df));
}

SmallExtent small_profile(const CurveModel& model, SmallMinimum& best, std::size_t k,
                          double threshold) {
  return Walk(model, best, k, threshold).extent();
}

Design small_design(const CurveModel& model, const Parameters& p, std::vector<std::size_t>& which) {
  Design d;
  d.rows = model.rows();
  std::vector<double> A(d.rows), J(d.rows * most_parameters);
  model.rates(p, A.data(), J.data());
  which.clear();
  for (std::size_t j = 0; j < model.specs().size(); ++j) {
    const ParameterSpec& spec = model.specs()[j];
    if (spec.fixed || spec.absent || !spec.counted) continue;
    if (!(p[j] < infinity) || p[j] <= 0) continue;  // limits nothing, or at its bound
    bool used = false;
    for (std::size_t i = 0; i < d.rows; ++i) used = used || J[i * most_parameters + j] != 0;
    if (used) which.push_back(j);
  }
  d.columns.assign(which.size(), Parameter::Vcmax);
  const std::vector<double>* weights = model.weights();
  for (std::size_t i = 0; i < d.rows; ++i) {
    const double root = weights == nullptr ? 1 : std::sqrt((*weights)[i]);
    for (const std::size_t j : which) d.X.push_back(root * J[i * most_parameters + j]);
    d.residuals.push_back(root * (model.observed()[i] - A[i]));
  }
  return d;
}

std::vector<Estimate> small_estimates(const CurveModel& model, SmallMinimum& best,
                                      const SmallIntervals& how) {
  std::vector<Estimate> out;
  for (int pass = 0; pass < 3; ++pass) {
    const double ssr = best.ssr;
    out.clear();
    const Spread spread(model, best, how);
    for (std::size_t k = 0; k < model.specs().size(); ++k) {
      out.push_back(spread.estimate(best, k));
    }
    // A profile that met a lower sum of squares began from a local minimum: once more from there.
    if (best.ssr >= ssr * (1 - 1e-9)) break;
  }
  return out;
}

}  // namespace leafwright
