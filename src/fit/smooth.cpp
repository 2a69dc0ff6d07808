#include "fit/smooth.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "fit/exact.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Of a first descent: a step that gains less ends it.
constexpr double fine_gain = 1e-10;
constexpr double coarse_gain = 1e-4;

/// A smooth minimum of two with its derivatives; an infinite one does not take part.
struct Blend {
  double x, by_a, by_b;
};

inline Blend blend_finite(double a, double b, double theta) {
  const double sum = a + b;
  if (sum <= 0) return {0, 0.5, 0.5};
  // smooth_minimum(a, b, theta); its root is also sum - 2 theta x, without the cancellation.
  const double root = std::sqrt(std::max(0.0, sum * sum - 4 * theta * a * b));
  if (!(root > 1e-14 * sum)) return {2 * a * b / (sum + root), 0.5, 0.5};
  // One division for both 1 / (sum + root) and 1 / root.
  const double larger = sum + root, both = 1 / (larger * root), inverse = larger * both;
  const double x = 2 * a * b * root * both;
  return {x, (b - x) * inverse, (a - x) * inverse};
}

Blend blend(double a, double b, double theta) {
  if (!(b < infinity)) return {a, 1, 0};
  if (!(a < infinity)) return {b, 0, 1};
  return blend_finite(a, b, theta);
}

/// Coefficients of one row: W/C of each state per unit of capacity, times (C - Gamma*).
struct Row {
  double c = 0, j = 0, p = 0;  ///< p = 0: TPU cannot limit
  double net = 0;              ///< C - Gamma*
};

Row row_at(double C, const Kinetics& k, const Electrons& e, double alpha) {
  Row row;
  row.net = C - k.gamma_star;
  row.c = 1 / (C + k.Km);
  row.j = 1 / (e.carboxylation * C + e.oxygenation * k.gamma_star);
  const double room = C - (1 + 3 * alpha) * k.gamma_star;
  row.p = room > 0 ? 3 / room : 0;
  return row;
}

/// W/C and its derivatives by V, 1/J, 1/T.
struct Carboxylation {
  double w, by_V, by_inverse_J, by_inverse_T;
};

/// `u`, `v` are 1/J and 1/TPU; 0 where they do not limit. V may be infinite.
Carboxylation carboxylation(const Row& row, double V, double u, double v, double theta) {
  const double a = V < infinity ? V * row.c : infinity;
  const double b = u > 0 ? row.j / u : infinity;
  const double d = v > 0 && row.p > 0 ? row.p / v : infinity;
  const Blend first = blend(a, b, theta);
  const Blend second = blend(first.x, d, theta);
  Carboxylation out{second.x, second.by_a * first.by_a * row.c, 0, 0};
  // For u -> 0 the smooth minimum is a - (1 - theta) a^2/b + ..., and b = j/u.
  if (u > 0) {
    out.by_inverse_J = -second.by_a * first.by_b * row.j / (u * u);
  } else if (V < infinity) {
    out.by_inverse_J = -second.by_a * (1 - theta) * a * a / row.j;
  }
  if (v > 0 && row.p > 0) {
    out.by_inverse_T = -second.by_b * row.p / (v * v);
  } else if (row.p > 0) {
    out.by_inverse_T = -(1 - theta) * first.x * first.x / row.p;
  }
  return out;
}

/// The same where all three take part; J and TPU themselves.
inline Carboxylation three(const Row& row, double V, double J, double T, double theta) {
  const double b = row.j * J, d = row.p * T;
  const Blend first = blend_finite(V * row.c, b, theta);
  const Blend second = blend_finite(first.x, d, theta);
  return {second.x, second.by_a * first.by_a * row.c, -second.by_a * first.by_b * b * J,
          -second.by_b * d * T};
}

class SmoothModel final : public CurveModel, private SmoothTarget {
 public:
  SmoothModel(std::span<const Observation> observations, LimitationSet permitted,
              const RdayChoice& rday, const Electrons& electrons, double alpha, double theta)
      : observations_(observations.begin(), observations.end()),
        permitted_(permitted),
        rday_(rday),
        electrons_(electrons),
        alpha_(alpha),
        theta_(theta),
        specs_(4) {
    for (const Observation& o : observations_) {
      A_.push_back(o.A);
      w_.push_back(o.weight);
      root_.push_back(std::sqrt(o.weight));
      rows_.push_back(row_at(o.Ci, o.kinetics, electrons, alpha));
      largest_ = std::max(largest_, std::abs(o.A));
    }
    const char* symbols[] = {"Vcmax", "J", "TPU", "Rday"};
    for (std::size_t k = 0; k < 4; ++k) specs_[k].symbol = symbols[k];
    specs_[c3_j].reciprocal = specs_[c3_t].reciprocal = true;
    specs_[c3_r].capacity = false;
    specs_[c3_r].fixed = rday.mode != RdayMode::free;
    specs_[c3_v].absent = !permitted.rubisco;
    specs_[c3_j].absent = !permitted.rubp;
    specs_[c3_t].absent = !permitted.tpu;
  }

  [[nodiscard]] const std::vector<double>& observed() const override { return A_; }
  [[nodiscard]] const std::vector<double>* weights() const override { return &w_; }
  [[nodiscard]] const std::vector<ParameterSpec>& specs() const override { return specs_; }

  [[nodiscard]] SmallMinimum solve(const HeldParameters& held,
                                   const Parameters* near) const override {
    SmallMinimum best;
    best.ssr = infinity;
    if (near != nullptr) {
      attempt(held, *near, best);
      return best;
    }
    if (starts_.empty()) make_starts();
    // From every start so far that it shows where it leads; then to the end from the lowest.
    for (const Parameters& start : starts_) attempt(held, start, best, coarse_gain);
    if (best.ssr < infinity) attempt(held, Parameters(best.p), best);
    return best;
  }

  void rates(const Parameters& p, double* A, double* J) const override {
    const bool fraction = rday_.mode == RdayMode::fraction;
    const double R = fraction ? rday_.value * p[c3_v] : p[c3_r];
    const bool all = p[c3_v] < infinity && p[c3_j] > 0 && p[c3_t] > 0;
    const double capacity_J = all ? 1 / p[c3_j] : 0, capacity_T = all ? 1 / p[c3_t] : 0;
    for (std::size_t i = 0; i < A_.size(); ++i) {
      const Row& row = rows_[i];
      const Carboxylation w = all && row.p > 0
                                  ? three(row, p[c3_v], capacity_J, capacity_T, theta_)
                                  : carboxylation(row, p[c3_v], p[c3_j], p[c3_t], theta_);
      A[i] = row.net * w.w - R;
      if (J == nullptr) continue;
      double* out = J + i * most_parameters;
      out[c3_v] = row.net * w.by_V - (fraction ? rday_.value : 0);
      out[c3_j] = permitted_.rubp ? row.net * w.by_inverse_J : 0;
      out[c3_t] = permitted_.tpu ? row.net * w.by_inverse_T : 0;
      out[c3_r] = fraction ? 0 : -1;
      out[c3_resistance] = 0;
    }
  }

 private:
  [[nodiscard]] std::size_t rows() const override { return A_.size(); }
  bool evaluate(const Parameters& p, double* r, double* J) const override {
    rates(p, r, J);
    bool finite = true;
    for (std::size_t i = 0; i < A_.size(); ++i) {
      const double root = root_[i];
      r[i] = root * (r[i] - A_[i]);
      finite = finite && std::isfinite(r[i]);
      if (J == nullptr || root == 1) continue;
      for (std::size_t k = 0; k < most_parameters; ++k) J[i * most_parameters + k] *= root;
    }
    return finite;
  }

  void attempt(const HeldParameters& held, Parameters start, SmallMinimum& best,
               double least_gain = fine_gain) const {
    ParameterBox box;
    box.least_gain = least_gain;
    // A first descent need not end where another has been.
    if (least_gain == coarse_gain && best.ssr < infinity) box.known = &best;
    box.upper = {1e4 * largest_, 1e3 / largest_, 1e4 / largest_, largest_};
    if (rday_.mode == RdayMode::free && held[c3_r] && *held[c3_r] > largest_) return;
    const std::array<bool, 4> allowed{permitted_.rubisco, permitted_.rubp, permitted_.tpu,
                                      rday_.mode == RdayMode::free};
    for (std::size_t k = 0; k < 4; ++k) {
      box.free[k] = allowed[k] && !held[k];
      if (held[k]) start[k] = *held[k];
    }
    if (!permitted_.rubisco) start[c3_v] = held[c3_v].value_or(infinity);
    if (!permitted_.rubp) start[c3_j] = held[c3_j].value_or(0);
    if (!permitted_.tpu) start[c3_t] = held[c3_t].value_or(0);
    if (rday_.mode == RdayMode::fixed) start[c3_r] = rday_.value;
    // Rubisco that limits nothing: as large as the box allows.
    if (box.free[c3_v] && !(start[c3_v] < infinity)) start[c3_v] = 20 * largest_;
    if (held[c3_v] && !(*held[c3_v] < infinity)) start[c3_v] = 1e4 * largest_;
    SmallMinimum m = minimise(*this, box, start);
    if (!(m.ssr < best.ssr)) return;
    if (rday_.mode == RdayMode::fraction) m.p[c3_r] = rday_.value * m.p[c3_v];
    best = m;
    if (best.p[c3_v] >= 0.999e4 * largest_) best.p[c3_v] = infinity;
  }

  void make_starts() const {
    const std::array<LimitationSet, 3> sets{
        {{true, true, true}, {true, true, false}, {true, false, true}}};
    for (const LimitationSet& set : sets) {
      const LimitationSet both{set.rubisco && permitted_.rubisco, set.rubp && permitted_.rubp,
                               set.tpu && permitted_.tpu};
      if (both.count() == 0) continue;
      const auto problem =
          make_problem(observations_, both, rday_.mode, rday_.value, electrons_, alpha_);
      if (!problem) continue;
      const C3Leaf leaf = solve_exact(*problem).leaf;
      add_start(leaf);
      if (both.count() == 2 && permitted_.count() == 3) add_third(leaf, set.rubp);
    }
    if (starts_.empty()) add_start({2 * largest_, 3 * largest_, largest_, 0.02 * largest_});
    const Parameters first = starts_.front();
    starts_.push_back({1.3 * first[c3_v], 0.8 * first[c3_j], 0.9 * first[c3_t],
                       0.5 * first[c3_r] + 0.01 * largest_});
    starts_.push_back({1.1 * first[c3_v], 1.15 * first[c3_j] + 0.02 / largest_,
                       0.5 * (first[c3_t] + 1 / largest_), 1.5 * first[c3_r]});
  }
  /// The limitation that a set of two leaves out, where it begins to be felt: RuBP where Rubisco
  /// and TPU meet, TPU at the row where it comes nearest. Otherwise a blend of all three is missed.
  void add_third(C3Leaf leaf, bool third_is_tpu) const {
    if (!(leaf.Vcmax < infinity)) return;
    double most = 0;
    for (const Row& row : rows_) {
      if (!(row.p > 0)) continue;  // too near to Gamma* for TPU
      const double other = third_is_tpu ? leaf.J * row.j : leaf.TPU * row.p;
      const double w = std::min(leaf.Vcmax * row.c, other);
      most = std::max(most, w / (third_is_tpu ? row.p : row.j));
    }
    if (third_is_tpu) {
      leaf.J *= 1.08;
      leaf.TPU = most;
    } else {
      leaf.Vcmax *= 1.03;
      leaf.J = most;
      leaf.TPU *= 1.05;
    }
    leaf.Rday *= 1.1;
    add_start(leaf);
  }

  void add_start(const C3Leaf& leaf) const {
    // The blend pulls the curve down, so its capacities lie above the sharp ones, the more so the
    // smaller theta; near theta = 1 the exact solution itself is the place to begin.
    const double more = std::min(0.02, 1 - theta_);
    const Parameters start{(1 + more) * leaf.Vcmax, leaf.J < infinity ? (1 - more) / leaf.J : 0,
                           leaf.TPU < infinity && leaf.TPU > 0 ? (1 - more) / leaf.TPU : 0,
                           leaf.Rday};
    if (std::find(starts_.begin(), starts_.end(), start) == starts_.end()) starts_.push_back(start);
  }

  std::vector<Observation> observations_;
  LimitationSet permitted_;
  RdayChoice rday_;
  Electrons electrons_;
  double alpha_, theta_;
  std::vector<ParameterSpec> specs_;
  std::vector<double> A_;
  std::vector<double> w_, root_;  ///< weights of the rows, and their roots
  std::vector<Row> rows_;
  double largest_ = 1e-6;
  mutable std::vector<Parameters> starts_;
};

}  // namespace

double smooth_c3_rate(double C, double theta, const C3Leaf& leaf, const Kinetics& k,
                      const Electrons& e, double alpha) {
  const Row row = row_at(C, k, e, alpha);
  const auto inverse = [](double capacity) {
    return capacity < infinity ? 1 / std::max(capacity, 1e-300) : 0.0;
  };
  const double w = carboxylation(row, leaf.Vcmax, inverse(leaf.J), inverse(leaf.TPU), theta).w;
  if (!(w < infinity)) throw std::logic_error("smooth_c3_rate: nothing limits");
  return row.net * w - leaf.Rday;
}

Result<std::unique_ptr<CurveModel>> make_smooth_model(std::span<const Observation> observations,
                                                      LimitationSet permitted,
                                                      const RdayChoice& rday,
                                                      const Electrons& electrons, double alpha,
                                                      double theta) {
  if (!(theta > 0 && theta <= 1)) {
    return fail(ErrorCode::usage, fmt::format("theta {}", theta), "a number above 0 and up to 1");
  }
  // The sharp problem checks the rows.
  const auto sharp = make_problem(observations, permitted, rday.mode, rday.value, electrons, alpha);
  if (!sharp) return fail(sharp.error());
  return std::make_unique<SmoothModel>(observations, permitted, rday, electrons, alpha, theta);
}

}  // namespace leafwright
