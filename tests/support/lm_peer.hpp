// A compiled peer of the exact C3 solver: plain Levenberg-Marquardt with many starts on the same
// sum of squares. It serves as an independent search that tries to find a lower sum, and as the
// opponent of the benchmarks. It proves nothing and shares no code with src/fit.
//
//   model_i = h_i min(V wc_i, J wj_i, T wp_i) - Rd
//   wc = C/(C + Km)   wj = C/(4C + 8G)   wp = 3C/(C - (1 + 3a) G), +infinity where that is <= 0
//   h = 1 - G/C       V, J, T, Rd >= 0 (by clamping)
// The derivative is that of the state that limits. No heap, double precision, four parameters.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <string_view>

#include "base/random.hpp"

namespace leafwright::lm_peer {

enum class Respiration { free, fixed, fraction };  // fraction: Rd = value * V

/// Coefficients per point; the arrays belong to the caller.
struct Curve {
  const double* wc = nullptr;
  const double* wj = nullptr;
  const double* wp = nullptr;
  const double* h = nullptr;
  const double* A = nullptr;
  std::size_t n = 0;
  bool rubp = true;  ///< may J limit?
  bool tpu = true;   ///< may T limit?
  Respiration respiration = Respiration::free;
  double respiration_value = 0;
};

/// V, J, T, Rd; infinity where a limitation is not permitted.
using Parameters = std::array<double, 4>;

struct Found {
  Parameters p{};
  double ssr = std::numeric_limits<double>::infinity();
  int iterations = 0;
};

struct Options {
  int max_iterations = 100;
  double tolerance = 1e-12;  ///< relative decrease of the sum at which a run ends
};

/// Fills one point's coefficients.
inline void coefficients(double C, double G, double Km, double alpha, double& wc, double& wj,
                         double& wp, double& h) {
  const double above = C - (1 + 3 * alpha) * G;
  wc = C / (C + Km);
  wj = C / (4 * C + 8 * G);
  wp = above > 0 ? 3 * C / above : std::numeric_limits<double>::infinity();
  h = 1 - G / C;
}

// Which of V wc, J wj, T wp limits, and its coefficient. T = 0 times an infinite wp would be no
// number; such a point is never limited by TPU.
struct Limit {
  std::size_t state;
  double w;
  double rate;
};
inline Limit limit(const Curve& c, const Parameters& p, std::size_t i) {
  Limit out{0, c.wc[i], p[0] * c.wc[i]};
  if (c.rubp && p[1] * c.wj[i] < out.rate) out = {1, c.wj[i], p[1] * c.wj[i]};
  if (c.tpu && std::isfinite(c.wp[i]) && p[2] * c.wp[i] < out.rate)
    out = {2, c.wp[i], p[2] * c.wp[i]};
  return out;
}

inline double sum_of_squares(const Curve& c, const Parameters& p) {
  double ssr = 0;
  for (std::size_t i = 0; i < c.n; ++i) {
    const double r = c.A[i] - c.h[i] * limit(c, p, i).rate + p[3];
    ssr += r * r;
  }
  return ssr;
}

// Normal equations at p: H = J'J, g = J'(A - model); returns the sum of squares.
struct Normal {
  std::array<std::array<double, 4>, 4> H{};
  std::array<double, 4> g{};
};
inline double normal_equations(const Curve& c, const Parameters& p, Normal& q) {
  q = {};
  double ssr = 0;
  for (std::size_t i = 0; i < c.n; ++i) {
    const Limit at = limit(c, p, i);
    const double x = c.h[i] * at.w, r = c.A[i] - c.h[i] * at.rate + p[3];
    ssr += r * r;
    q.H[at.state][at.state] += x * x;
    q.H[at.state][3] -= x;
    q.H[3][3] += 1;
    q.g[at.state] += x * r;
    q.g[3] -= r;
  }
  for (std::size_t k = 0; k < 3; ++k) q.H[3][k] = q.H[k][3];
  if (c.respiration == Respiration::fraction) {  // chain rule: d/dV gains f d/dRd
    const double f = c.respiration_value;
    q.H[0][0] += 2 * f * q.H[0][3] + f * f * q.H[3][3];
    for (const std::size_t k : {std::size_t{1}, std::size_t{2}})
      q.H[0][k] = q.H[k][0] = f * q.H[3][k];
    q.g[0] += f * q.g[3];
  }
  if (c.respiration != Respiration::free) {
    for (std::size_t k = 0; k < 4; ++k) q.H[3][k] = q.H[k][3] = 0;
    q.g[3] = 0;
  }
  return ssr;
}

// Solves (H + lambda diag H) x = g by Cholesky; parameters without effect, or that the gradient
// pushes out of their bound 0, stay.
inline std::array<double, 4> damped_step(Normal q, const Parameters& p, double lambda) {
  std::array<bool, 4> used{};
  for (std::size_t k = 0; k < 4; ++k) used[k] = q.H[k][k] > 0 && !(p[k] <= 0 && q.g[k] <= 0);
  std::array<double, 4> x{};
  for (std::size_t j = 0; j < 4; ++j) {
    if (!used[j]) continue;
    q.H[j][j] *= 1 + lambda;
  }
  for (std::size_t j = 0; j < 4; ++j) {  // factor in place, lower triangle
    if (!used[j]) continue;
    for (std::size_t k = 0; k < j; ++k)
      if (used[k]) q.H[j][j] -= q.H[j][k] * q.H[j][k];
    if (!(q.H[j][j] > 0)) {
      used[j] = false;
      continue;
    }
    q.H[j][j] = std::sqrt(q.H[j][j]);
    for (std::size_t i = j + 1; i < 4; ++i) {
      if (!used[i]) continue;
      for (std::size_t k = 0; k < j; ++k)
        if (used[k]) q.H[i][j] -= q.H[i][k] * q.H[j][k];
      q.H[i][j] /= q.H[j][j];
    }
  }
  for (std::size_t j = 0; j < 4; ++j) {
    if (!used[j]) continue;
    x[j] = q.g[j];
    for (std::size_t k = 0; k < j; ++k) x[j] -= used[k] ? q.H[j][k] * x[k] : 0;
    x[j] /= q.H[j][j];
  }
  for (std::size_t j = 4; j-- > 0;) {
    if (!used[j]) continue;
    for (std::size_t k = j + 1; k < 4; ++k) x[j] -= used[k] ? q.H[k][j] * x[k] : 0;
    x[j] /= q.H[j][j];
  }
  return x;
}

/// One run from `start` (Rd is overwritten unless it is free).
inline Found run(const Curve& c, Parameters start, const Options& options = {}) {
  const auto settle = [&c](Parameters& p) {
    for (double& value : p) value = std::max(value, 0.0);
    if (c.respiration == Respiration::fixed) p[3] = c.respiration_value;
    if (c.respiration == Respiration::fraction) p[3] = c.respiration_value * p[0];
  };
  settle(start);
  Found best;
  best.p = start;
  Normal q;
  best.ssr = normal_equations(c, best.p, q);
  double lambda = 1e-3;
  for (; best.iterations < options.max_iterations; ++best.iterations) {
    const auto step = damped_step(q, best.p, lambda);
    Parameters trial = best.p;
    for (std::size_t k = 0; k < 4; ++k) trial[k] += step[k];
    settle(trial);
    Normal next;
    const double ssr = normal_equations(c, trial, next);
    if (ssr < best.ssr) {
      const bool last = best.ssr - ssr <= options.tolerance * best.ssr;
      best.p = trial;
      best.ssr = ssr;
      q = next;
      lambda = std::max(lambda * 0.2, 1e-12);
      if (last) break;
    } else {
      lambda *= 8;
      if (lambda > 1e10) break;
    }
  }
  if (!c.rubp) best.p[1] = std::numeric_limits<double>::infinity();
  if (!c.tpu) best.p[2] = std::numeric_limits<double>::infinity();
  return best;
}

/// A first start as a person would guess it, then random ones (log-uniform V 3..400, J 5..600,
/// T 0.5..60; Rd 0..4), keyed by (seed, curve).
inline Found search(const Curve& c, int starts, std::uint64_t seed = 1, std::string_view curve = "",
                    const Options& options = {}) {
  RandomStream draw(seed, curve, "lm-peer");
  Found best = run(c, {60, 110, 8, 1}, options);
  int iterations = best.iterations;
  for (int k = 1; k < starts; ++k) {
    const auto log_uniform = [&draw](double low, double high) {
      return low * std::exp(draw.uniform() * std::log(high / low));
    };
    const double V = log_uniform(3, 400), J = log_uniform(5, 600), T = log_uniform(0.5, 60);
    const Found found = run(c, {V, J, T, draw.uniform(0, 4)}, options);
    iterations += found.iterations;
    if (found.ssr < best.ssr) best = found;
  }
  best.iterations = iterations;
  return best;
}

}  // namespace leafwright::lm_peer
