// Invented C4 curves with known truth, and a long search for the lowest sum of squares that shares
// nothing with the fit but the model's own rates.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "fit/c4_model.hpp"
#include "fit/fitted.hpp"
#include "log/curve.hpp"

namespace leafwright::c4sim {

struct Regime {
  std::string name;
  C4Plateau plateau = C4Plateau::unnamed;  ///< of the truth and of the fit
  std::size_t n = 12;
  double noise = 0.4;    ///< umol m-2 s-1
  double lowest = 15;    ///< Ci
  double highest = 800;  ///< Ci
};

struct Draw {
  Curve curve;
  C4Rows rows;
  C4Fitted truth;
  double slope = 0;  ///< initial slope, mol m-2 s-1
};

/// Curve `number`: Vpmax 40-160, plateau 20-60, Rday 0.3-2.5, at 25 degC and 100 kPa.
inline Draw draw(std::uint64_t seed, std::uint32_t number, const Regime& regime) {
  RandomStream random(seed, regime.name, "c4-curve", number);
  Draw out;
  C4Kinetics k = *c4_kinetics_at(**find_c4_kinetics("boyd-2015"), 25, 100, Basis::partial_pressure);
  C4Fitted& t = out.truth;
  t.plateau = regime.plateau;
  t.kinetics = k;
  t.bar = 1;
  t.Vpmax = random.uniform(40, 160);
  t.top = random.uniform(20, 60);
  if (regime.plateau == C4Plateau::j) t.top *= 5;
  t.Rday = random.uniform(0.3, 2.5);
  out.slope = c4_slope_at_zero(t.plateau, t.Vpmax, t.top, t.Rday, k);
  out.rows.kinetics = k;
  out.curve.curve_id = std::to_string(number);
  const double ratio = std::log(regime.highest / regime.lowest);
  for (std::size_t i = 0; i < regime.n; ++i) {
    CurveRow row;
    row.row = i;
    const double share =
        (static_cast<double>(i) + random.uniform(-0.2, 0.2)) / static_cast<double>(regime.n - 1);
    row.Ci = regime.lowest * std::exp(ratio * std::max(0.0, share));
    row.A = c4_fitted_rate(t, row.Ci) + regime.noise * random.normal();
    row.Tleaf = 25;
    row.Patm = 100;
    out.curve.rows.push_back(row);
  }
  std::sort(out.curve.rows.begin(), out.curve.rows.end(),
            [](const CurveRow& a, const CurveRow& b) { return a.Ci < b.Ci; });
  for (CurveRow& row : out.curve.rows) {
    out.rows.A.push_back(row.A);
    out.rows.C.push_back(row.Ci);
  }
  return out;
}

/// Hard rows: few, tied, nothing but noise, all below or above the break, negative.
inline C4Rows hard_rows(std::uint64_t seed, std::uint32_t number) {
  RandomStream random(seed, "hard", "c4-rows", number);
  C4Rows rows;
  rows.kinetics = *c4_kinetics_at(
      *find_c4_kinetics(random.uniform() < 0.5 ? "boyd-2015" : "von-caemmerer-2000").value(),
      random.uniform(15, 38), 100, Basis::partial_pressure);
  if (random.uniform() < 0.3) rows.kinetics.alpha = random.uniform(0, 1);
  const std::size_t n = 4 + random.index(10);
  constexpr double sizes[] = {0, 0.1, 0.5, 2, 10, 30};
  const double noise = sizes[random.index(6)];
  C4Fitted t;
  t.kinetics = rows.kinetics;
  t.Vpmax = random.uniform(5, 250);
  t.top = random.uniform(2, 90);
  t.Rday = random.uniform() < 0.3 ? 0 : random.uniform(0, 5);
  const double low = random.uniform(3, 100), high = low * random.uniform(2, 60);
  const double offset = random.uniform() < 0.1 ? -20 : 0;
  for (std::size_t i = 0; i < n; ++i) {
    double C = low * std::exp(random.uniform() * std::log(high / low));
    if (i > 0 && random.uniform() < 0.1) C = rows.C[random.index(i)];
    rows.C.push_back(C);
  }
  std::sort(rows.C.begin(), rows.C.end());
  for (const double C : rows.C) {
    rows.A.push_back(c4_fitted_rate(t, C) + noise * random.normal() + offset);
  }
  return rows;
}

inline double ssr_of(const C4Rows& rows, const C4Fitted& f) {
  double sum = 0;
  for (std::size_t i = 0; i < rows.A.size(); ++i) {
    const double d = c4_fitted_rate(f, rows.C[i]) - rows.A[i];
    sum += d * d;
  }
  return std::isfinite(sum) ? sum : std::numeric_limits<double>::infinity();
}

/// The lowest sum of squares that `starts` downhill simplexes (Nelder & Mead 1965) in log Vpmax,
/// log top and Rday >= 0 reach, each restarted twice where it stopped.
inline double long_search(const C4Rows& rows, C4Plateau plateau, int starts, std::uint64_t seed,
                          std::uint32_t number) {
  RandomStream random(seed, "search", "c4-search", number);
  using Point = std::array<double, 3>;
  double largest = 1e-6;
  for (const double A : rows.A) largest = std::max(largest, std::abs(A));
  const auto value = [&](const Point& x) {
    C4Fitted f;
    f.plateau = plateau;
    f.kinetics = rows.kinetics;
    f.Vpmax = std::exp(std::min(x[0], 25.0));
    f.top = std::exp(std::min(x[1], 25.0));
    f.Rday = std::abs(x[2]);
    // The named forms stop Rday at the highest |A| (c4_model.hpp).
    const bool named = plateau == C4Plateau::vcmax || plateau == C4Plateau::j;
    if (named && f.Rday > largest) return std::numeric_limits<double>::infinity();
    return ssr_of(rows, f);
  };
  const auto simplex = [&](Point start, double size) {
    std::array<std::pair<double, Point>, 4> s;
    for (std::size_t k = 0; k < 4; ++k) {
      Point x = start;
      if (k > 0) x[k - 1] += size;
      s[k] = {value(x), x};
    }
    for (int step = 0; step < 300; ++step) {
      std::sort(s.begin(), s.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
      if (s[3].first - s[0].first <= 1e-13 * (1e-12 + s[0].first)) break;
      Point centre{};
      for (std::size_t k = 0; k < 3; ++k)
        for (std::size_t j = 0; j < 3; ++j) centre[j] += s[k].second[j] / 3;
      const auto along = [&](double t) {
        Point x{};
        for (std::size_t j = 0; j < 3; ++j) x[j] = centre[j] + t * (s[3].second[j] - centre[j]);
        return std::pair{value(x), x};
      };
      auto reflected = along(-1);
      if (reflected.first < s[0].first) {
        const auto expanded = along(-2);
        s[3] = expanded.first < reflected.first ? expanded : reflected;
      } else if (reflected.first < s[2].first) {
        s[3] = reflected;
      } else {
        const auto contracted = along(reflected.first < s[3].first ? -0.5 : 0.5);
        if (contracted.first < std::min(reflected.first, s[3].first)) {
          s[3] = contracted;
        } else {
          for (std::size_t k = 1; k < 4; ++k) {
            for (std::size_t j = 0; j < 3; ++j)
              s[k].second[j] = 0.5 * (s[k].second[j] + s[0].second[j]);
            s[k].first = value(s[k].second);
          }
        }
      }
    }
    return *std::min_element(s.begin(), s.end(),
                             [](const auto& a, const auto& b) { return a.first < b.first; });
  };
  double best = std::numeric_limits<double>::infinity();
  const double factor = plateau == C4Plateau::j ? 5 : 1;
  for (int i = 0; i < starts; ++i) {
    const Point start{std::log(random.uniform(3, 400)), std::log(factor * random.uniform(2, 120)),
                      random.uniform(0, 6)};
    auto found = simplex(start, 0.4);
    for (const double size : {0.1, 0.01}) found = simplex(found.second, size);
    best = std::min(best, found.first);
  }
  return best;
}

}  // namespace leafwright::c4sim
