// A C3 curve on the model plus a fixed pattern of noise, and options with the same Gamma* and Km.
#pragma once

#include <limits>
#include <vector>

#include "fit/fit.hpp"
#include "support/stress_curves.hpp"

namespace leafwright::plain {

inline constexpr double infinity = std::numeric_limits<double>::infinity();
inline constexpr double G = 42.75, Km = 710.3;  ///< umol mol-1
inline const std::vector<double> usual_ci{55,  95,  140, 190,  250,  330, 430,
                                          560, 720, 920, 1150, 1400, 1700};

/// At 25 degC; `noise` (umol m-2 s-1) times a pattern of both signs is added to A.
inline Curve made(const C3Leaf& leaf, double noise = 0.2,
                  const std::vector<double>& ci = usual_ci) {
  constexpr double pattern[] = {0.7,  -1.1, 0.4,  0.9, -0.8, -0.3, 1.2,
                                -0.9, 0.1,  -0.5, 1.0, -0.7, 0.2};
  Curve out;
  out.curve_id = "made";
  for (std::size_t i = 0; i < ci.size(); ++i) {
    CurveRow row;
    row.row = i;
    row.place = {"points.csv", i + 2, 3, ""};
    row.Ci = ci[i];
    row.A = stress::net_rate(leaf, ci[i], G, Km, {}, 0) + noise * pattern[i % 13];
    row.Tleaf = 25;
    row.Patm = 101.325;
    out.rows.push_back(row);
  }
  return out;
}

inline C3FitOptions options() {
  C3FitOptions o;
  o.kinetics = &kinetics_sets().front();
  o.overrides.gamma_star = G;
  o.overrides.Km = Km;
  o.budget = false;
  return o;
}

inline C3FitOptions without_tpu() {
  C3FitOptions o = options();
  o.limitations = LimitationSet{true, true, false};
  return o;
}

}  // namespace leafwright::plain
