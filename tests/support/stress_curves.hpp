// Invented A-Ci curves that are hard on a solver, and plain ones for timing. Deterministic: curve
// `number` of a seed is the same on every machine, whatever was drawn before.
//
// Hard means, by turns: as few points as parameters, ties and near ties in Ci, Ci at and below
// Gamma* and at (1 + 3 alpha) Gamma*, clusters, weights, alpha up to 0.6, both electron forms, no
// TPU or nearly none, no noise or nothing but noise, all A negative, Km barely above its limit.
// Numbers at Gamma* and at (1 + 3 alpha) Gamma* are exact in binary, so that "TPU can limit here"
// means the same in every precision.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "fit/problem.hpp"

namespace leafwright::stress {

struct Curve {
  std::vector<double> Ci, A, weights;
  double G = 0, Km = 0, alpha = 0;
  std::vector<double> G_of_point, Km_of_point;  ///< kinetics per row; else empty
  Electrons electrons;
  C3Leaf truth;
  [[nodiscard]] std::size_t size() const { return Ci.size(); }
  [[nodiscard]] std::vector<Observation> observations() const {
    std::vector<Observation> out(size());
    for (std::size_t i = 0; i < size(); ++i) {
      out[i].A = A[i];
      out[i].Ci = Ci[i];
      out[i].weight = weights[i];
      out[i].kinetics.gamma_star = G_of_point.empty() ? G : G_of_point[i];
      out[i].kinetics.Km = Km_of_point.empty() ? Km : Km_of_point[i];
    }
    return out;
  }
};

/// What kind of curve is asked for.
struct Kind {
  LimitationSet set;  ///< limitations of the truth and of the fit
  std::size_t most_points = 13;
  bool per_row = false;    ///< kinetics differ between rows
  bool low_km = false;     ///< Km below the limit: the order of states breaks
  bool never_low = false;  ///< all Ci above (1 + 3 alpha) Gamma* (needed where only TPU may act)
};

inline double log_uniform(RandomStream& draw, double low, double high) {
  return low * std::exp(draw.uniform() * std::log(high / low));
}
inline double rounded(double x, double step) {
  return std::round(x / step) * step;
}

inline double net_rate(const C3Leaf& leaf, double C, double G, double Km, const Electrons& e,
                       double alpha) {
  const double above = C - (1 + 3 * alpha) * G;
  double W = leaf.Vcmax * C / (C + Km);
  W = std::min(W, leaf.J * C / (e.carboxylation * C + e.oxygenation * G));
  if (above > 0) W = std::min(W, leaf.TPU * 3 * C / above);
  return (1 - G / C) * W - leaf.Rday;
}

/// Ci of a hard curve.
inline std::vector<double> hard_ci(RandomStream& draw, const Curve& c, std::size_t n,
                                   bool never_low) {
  const double floor = (1 + 3 * c.alpha) * c.G;
  const double lowest = never_low ? 1.02 * floor : 5;
  const std::size_t pattern = draw.index(5);
  std::vector<double> centres(2 + draw.index(4));
  for (double& x : centres) x = log_uniform(draw, std::max(20.0, lowest), 1800);
  const double spread = pattern == 1 ? std::pow(10.0, -draw.uniform(1, 4)) : 0.02;
  std::vector<double> ci;
  while (ci.size() < n) {
    double x = 0;
    if (pattern == 0 || pattern >= 3) x = log_uniform(draw, std::max(30.0, lowest), 2000);
    if (pattern == 1) x = centres[draw.index(centres.size())] * (1 + spread * draw.uniform());
    if (pattern == 2) x = log_uniform(draw, lowest, 400);
    const double turn = draw.uniform();
    if (!never_low) {
      if (turn < 0.05) x = c.G;
      if (turn >= 0.05 && turn < 0.08 && c.alpha != 0.6) x = floor;
      if (turn >= 0.08 && turn < 0.12) x = c.G * draw.uniform(0.2, 1);
      if (turn >= 0.12 && turn < 0.14) x = c.G * (1 + 1e-6 * draw.normal());
    }
    if (turn >= 0.2 && !ci.empty()) {
      const double other = ci[draw.index(ci.size())];
      if (turn < 0.26) x = other;
      if (turn >= 0.26 && turn < 0.34) x = other * (1 + std::pow(10.0, -draw.uniform(5, 7)));
    }
    ci.push_back(std::max(x, lowest));
  }
  return ci;
}

inline C3Leaf hard_leaf(RandomStream& draw, const LimitationSet& set) {
  C3Leaf leaf;
  constexpr double none = std::numeric_limits<double>::infinity();
  const double size = log_uniform(draw, 5, 200);
  leaf.Vcmax = set.rubisco ? size : none;
  leaf.J = set.rubp ? size * log_uniform(draw, 0.3, 4) : none;
  leaf.TPU = set.tpu ? size * log_uniform(draw, 0.02, 0.4) : none;
  const double turn = draw.uniform();
  if (set.tpu && set.count() > 1) {
    if (turn < 0.12) leaf.TPU = 0;
    if (turn >= 0.12 && turn < 0.2) leaf.TPU = 1e-6;
    if (turn >= 0.2 && turn < 0.35) leaf.TPU = none;
  }
  leaf.Rday = draw.uniform() < 0.35 ? 0 : draw.uniform(0, 4);
  return leaf;
}

/// Noise on the truth, or nothing but noise.
inline void add_rates(RandomStream& draw, Curve& c) {
  constexpr double sizes[] = {0, 1e-7, 0.1, 0.4, 1, 5, 40};
  const double noise = sizes[draw.index(7)];
  const double turn = draw.uniform();
  const double offset = turn < 0.1 ? draw.uniform(-60, -5) : 0;
  for (std::size_t i = 0; i < c.size(); ++i) {
    const double G = c.G_of_point.empty() ? c.G : c.G_of_point[i];
    const double Km = c.Km_of_point.empty() ? c.Km : c.Km_of_point[i];
    double a = net_rate(c.truth, c.Ci[i], G, Km, c.electrons, c.alpha) + noise * draw.normal();
    if (turn >= 0.1 && turn < 0.18) a = draw.uniform(-20, 60);
    if (turn >= 0.18 && turn < 0.22) a = draw.uniform(-12, -0.2);
    c.A.push_back(a + offset);
  }
}

inline Curve hard_curve(std::uint64_t seed, std::uint32_t number, const Kind& kind) {
  const std::string name = "set " + std::to_string(int{kind.set.rubisco}) +
                           std::to_string(int{kind.set.rubp}) + std::to_string(int{kind.set.tpu});
  RandomStream draw(seed, name, "stress-curve", number);
  Curve c;
  if (draw.uniform() < 0.35) c.electrons = {4.5, 10.5};
  c.alpha = draw.uniform() < 0.5 ? 0 : 0.125 * static_cast<double>(1 + draw.index(4));
  if (draw.uniform() < 0.15) c.alpha = 0.6;
  c.G = rounded(draw.uniform(20, 70), 1.0 / 64);
  const double limit = c.electrons.oxygenation / c.electrons.carboxylation;
  const double turn = draw.uniform();
  const double ratio = kind.low_km   ? limit * draw.uniform(0.2, 1.02)
                       : turn < 0.15 ? limit * (1 + std::pow(10.0, -draw.uniform(2, 5)))
                       : turn < 0.4  ? limit * draw.uniform(1.01, 1.5)
                                     : draw.uniform(5, 20);
  c.Km = c.G * ratio;
  const auto fewest = static_cast<std::size_t>(kind.set.count()) + 1;
  std::size_t n = fewest + draw.index(5);
  if (draw.uniform() < 0.6) n = 5 + draw.index(9);
  if (draw.uniform() < 0.03) n = 14 + draw.index(14);
  n = std::min(std::max(n, fewest), kind.most_points);
  c.Ci = hard_ci(draw, c, n, kind.never_low);
  if (kind.per_row) {
    for (std::size_t i = 0; i < n; ++i) {
      const double warmth = 0.15 * draw.normal();
      c.G_of_point.push_back(rounded(c.G * std::exp(0.5 * warmth), 1.0 / 64));
      c.Km_of_point.push_back(c.Km * std::exp(warmth));
      if (kind.never_low) {
        c.Ci[i] = std::max(c.Ci[i], 1.02 * (1 + 3 * c.alpha) * c.G_of_point.back());
      }
    }
  }
  c.truth = hard_leaf(draw, kind.set);
  const bool weighted = draw.uniform() < 0.3;
  for (std::size_t i = 0; i < n; ++i) {
    c.weights.push_back(weighted ? log_uniform(draw, 0.01, 100) : 1);
  }
  add_rates(draw, c);
  return c;
}

/// A plain curve as measured: n Ci from 50 to about 1500, states in usual proportions.
struct Plain {
  std::size_t n = 13;
  double noise = 0.4;      ///< umol m-2 s-1
  double tpu_drop = 0.1;   ///< how far TPU cuts below J at the highest Ci, relative; < 0: no TPU
  double correlation = 0;  ///< AR(1) of the noise along Ci
};

inline Curve plain_curve(std::uint64_t seed, std::uint32_t number, const Plain& plain) {
  RandomStream draw(seed, "plain", "stress-curve", number);
  Curve c;
  c.G = 42.75;
  c.Km = 710.3;
  const double V = draw.uniform(30, 110);
  c.truth = {V, V * draw.uniform(1.5, 2.0), 0, draw.uniform(0.5, 1.5)};
  for (std::size_t i = 0; i < plain.n; ++i) {
    const double share =
        plain.n < 2 ? 0 : static_cast<double>(i) / static_cast<double>(plain.n - 1);
    c.Ci.push_back(50 * std::pow(1500.0 / 50, share) * (1 + 0.02 * draw.normal()));
    c.weights.push_back(1);
  }
  const double top = *std::max_element(c.Ci.begin(), c.Ci.end());
  const double at_top = c.truth.J / (4 * top + 8 * c.G) * (top - c.G) / 3;
  c.truth.TPU =
      plain.tpu_drop < 0 ? std::numeric_limits<double>::infinity() : (1 - plain.tpu_drop) * at_top;
  double last = draw.normal();
  for (std::size_t i = 0; i < plain.n; ++i) {
    if (i > 0) {
      last = plain.correlation * last +
             std::sqrt(1 - plain.correlation * plain.correlation) * draw.normal();
    }
    c.A.push_back(net_rate(c.truth, c.Ci[i], c.G, c.Km, c.electrons, 0) + plain.noise * last);
  }
  return c;
}

/// A curve of a campaign as they come: 9 to 16 points, noise that lasts from one point to the next,
/// TPU in every second leaf, states that blend a little.
inline Curve campaign_curve(std::uint64_t seed, std::uint32_t number) {
  RandomStream draw(seed, "campaign", "stress-curve", number);
  Plain plain;
  plain.n = 9 + draw.index(8);
  plain.noise = log_uniform(draw, 0.15, 1.2);
  plain.tpu_drop = draw.uniform() < 0.5 ? -1 : draw.uniform(0, 0.2);
  plain.correlation = 0.65;
  Curve c = plain_curve(seed, number, plain);
  for (std::size_t i = 0; i < c.size(); ++i) {
    const double wc = c.truth.Vcmax / (c.Ci[i] + c.Km), wj = c.truth.J / (4 * c.Ci[i] + 8 * c.G);
    const double blended = smooth_minimum(wc, wj, 0.98);
    c.A[i] += (c.Ci[i] - c.G) * (blended - std::min(wc, wj));
  }
  return c;
}

}  // namespace leafwright::stress
