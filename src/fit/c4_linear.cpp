#include "fit/c4_linear.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Normal equations in (V, R): sum (V x - R y - t)^2.
struct Sums {
  double xx = 0, xy = 0, yy = 0, xt = 0, yt = 0, tt = 0;
  void add(double x, double y, double t, double weight = 1) {
    xx += weight * x * x;
    xy -= weight * x * y;
    yy += weight * y * y;
    xt += weight * x * t;
    yt -= weight * y * t;
    tt += weight * t * t;
  }
  [[nodiscard]] double value(double V, double R) const {
    return V * V * xx + 2 * V * R * xy + R * R * yy - 2 * V * xt - 2 * R * yt + tt;
  }
};

class Solver {
 public:
  Solver(const C4LinearProblem& p, const HeldParameters& held)
      : p_(p), held_(held), flat_(p.top == C4Top::flat), rho_(flat_ ? 1 : p.m) {
    for (std::size_t i = 0; i < p.size(); ++i) scale_ += p.weight(i) * p.A[i] * p.A[i];
    best_.ssr = infinity;
  }

  C4LinearSolution run() {
    const std::size_t n = p_.size();
    Sums low;
    for (std::size_t k = 0; k <= n; ++k) {
      if (k > 0) low.add(p_.f[k - 1], p_.m, p_.A[k - 1] - p_.c[k - 1], p_.weight(k - 1));
      cell(k, low);
    }
    best_.certified = best_.ssr < infinity && std::abs(best_.ssr - piece_) <= 1e-9 * scale_;
    return best_;
  }

 private:
  [[nodiscard]] double top_offset(std::size_t i) const { return flat_ ? 0 : p_.c[i]; }
  /// The kink at row j lies at P = V f_j + e_j + kappa R.
  [[nodiscard]] double e(std::size_t j) const { return p_.c[j] - top_offset(j); }
  [[nodiscard]] double kappa() const { return rho_ - p_.m; }

  void cell(std::size_t k, const Sums& low) {
    const std::size_t n = p_.size();
    if (k > 0 && held_[0] == infinity) return;
    if (k < n && held_[1] == infinity) return;
    double mean = 0, spread = 0, weight = 0;
    for (std::size_t i = k; i < n; ++i) {
      mean += p_.weight(i) * (p_.A[i] - top_offset(i));
      weight += p_.weight(i);
    }
    if (n > k) mean /= weight;
    for (std::size_t i = k; i < n; ++i) {
      const double d = p_.A[i] - top_offset(i) - mean;
      spread += p_.weight(i) * d * d;
    }
    const Top top{k, weight, mean, spread};
    if (!held_[1]) {
      solve(low, top, [&](double, double R) { return n > k ? mean + rho_ * R : infinity; });
      with_p(low, top, 0);
    } else {
      with_p(low, top, *held_[1]);
    }
    if (k > 0) pinned(low, top, k - 1);
    if (k < n) pinned(low, top, k);
  }

  struct Top {
    std::size_t k;
    double weight, mean, spread;
  };

  void with_p(Sums sums, const Top& top, double P) {
    if (top.weight > 0) sums.add(0, rho_, top.mean - P, top.weight);
    solve(sums, top, [P](double, double) { return P; });
  }

  void pinned(Sums sums, const Top& top, std::size_t j) {
    if (!held_[1]) {
      if (top.weight > 0) sums.add(p_.f[j], p_.m, top.mean - e(j), top.weight);
      solve(sums, top, [&](double V, double R) { return V * p_.f[j] + e(j) + kappa() * R; });
      return;
    }
    // P held: V follows from R.
    const double P = *held_[1];
    if (!(P < infinity) || held_[0] || !(p_.f[j] > 0)) return;
    if (top.weight > 0) sums.add(0, rho_, top.mean - P, top.weight);
    const double a = (P - e(j)) / p_.f[j], b = -kappa() / p_.f[j];
    // value(a + b R, R) is a parabola in R.
    const double quadratic = b * b * sums.xx + 2 * b * sums.xy + sums.yy;
    const double linear = a * b * sums.xx + a * sums.xy - b * sums.xt - sums.yt;
    const auto keep = [&](double R) {
      const double V = a + b * R;
      if (R >= 0 && V >= 0) offer(V, P, R, sums.value(V, R) + top.spread);
    };
    if (held_[2]) return keep(*held_[2]);
    keep(0);
    if (quadratic > 0) keep(-linear / quadratic);
    if (b != 0) keep(-a / b);  // V = 0
  }

  /// Minimises over V and R, each free, at 0 or held, and offers what comes out.
  template <class PlateauOf>
  void solve(const Sums& s, const Top& top, const PlateauOf& plateau) {
    const bool supply = s.xx > 0;
    const auto keep = [&](double V, double R) {
      if (!(V >= 0 && R >= 0)) return;
      const bool finite = V < infinity;
      const double P = plateau(finite ? V : 0, R);
      if (!(P >= 0)) return;
      offer(V, P, R, s.value(finite ? V : 0, R) + top.spread);
    };
    std::array<std::optional<double>, 2> rates{held_[2] ? held_[2] : 0.0, std::nullopt};
    for (const auto& R : rates) {
      if (!R && held_[2]) continue;
      if (held_[0] || !supply) {
        const double V = held_[0].value_or(infinity), v = V < infinity ? V : 0;
        if (R) keep(V, *R);
        if (!R && s.yy > 0) keep(V, (s.yt - v * s.xy) / s.yy);
        continue;
      }
      if (R) {
        keep((s.xt - *R * s.xy) / s.xx, *R);
        keep(0, *R);
        continue;
      }
      if (s.yy > 0) keep(0, s.yt / s.yy);
      const double det = s.xx * s.yy - s.xy * s.xy;
      if (!(det > 1e-13 * s.xx * s.yy)) continue;
      keep((s.xt * s.yy - s.yt * s.xy) / det, (s.yt * s.xx - s.xt * s.xy) / det);
    }
  }

  void offer(double V, double P, double R, double piece) {
    if (piece > best_.ssr + 1e-9 * scale_) return;
    const double ssr = c4_linear_ssr(p_, V, P, R);
    if (!(ssr < best_.ssr)) return;
    best_ = {V, P, R, ssr, false};
    piece_ = piece;
  }

  const C4LinearProblem& p_;
  const HeldParameters& held_;
  bool flat_;
  double rho_, scale_ = 0, piece_ = 0;
  C4LinearSolution best_;
};

}  // namespace

double c4_linear_ssr(const C4LinearProblem& p, double V, double P, double R) {
  if (!(V < infinity) && !(P < infinity)) return infinity;
  const bool flat = p.top == C4Top::flat;
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const double low = V < infinity ? V * p.f[i] + p.c[i] - p.m * R : infinity;
    const double high = flat ? P - R : P + p.c[i] - p.m * R;
    const double d = p.A[i] - std::min(low, high);
    sum += p.weight(i) * d * d;
  }
  return sum;
}

C4LinearSolution solve_c4_linear(const C4LinearProblem& p, const HeldParameters& held) {
  return Solver(p, held).run();
}

}  // namespace leafwright
