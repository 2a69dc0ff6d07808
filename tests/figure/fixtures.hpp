// Hand-made curves and fits: the figure room must draw whatever a fit says, so the fits here are
// written down, not computed.
#pragma once

#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "fit/result.hpp"
#include "log/curve.hpp"

namespace leafwright::fixtures {

inline constexpr double infinity = std::numeric_limits<double>::infinity();
inline constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// Bernacchi et al. 2001 at 25 degC as mole fractions.
inline Kinetics kinetics() {
  return {404.9, 278.4, 210, 42.75, 404.9 * (1 + 210 / 278.4)};
}

struct Sample {
  Curve curve;
  CurveFit fit;
};

inline Estimate estimated(const char* symbol, double value, double half) {
  Estimate e;
  e.symbol = symbol;
  e.status = Status::estimated;
  e.value = value;
  e.se = half / 2;
  e.low = value - half;
  e.high = value + half;
  return e;
}

inline CurveRow row_at(std::size_t row, double Ci, double A) {
  CurveRow r;
  r.row = row;
  r.place = {"leaf.csv", row + 3, 1, ""};
  r.A = A;
  r.Ci = Ci;
  r.Tleaf = 25;
  r.Patm = 101.3;
  return r;
}

/// A small reproducible wiggle in -1..1 that stands for noise.
inline double wiggle(std::size_t i) {
  const double x = 43758.5453 * std::sin(12.9898 * static_cast<double>(i + 1));
  return 2 * (x - std::floor(x)) - 1;
}

/// A curve at the given Ci under `leaf`, with noise of the given size, "fitted" by its truth.
inline Sample sample(const std::string& id, const C3Leaf& leaf, const std::vector<double>& Ci,
                     double noise = 0.4) {
  Sample s;
  s.curve.curve_id = s.fit.curve_id = id;
  CurveFit& fit = s.fit;
  fit.kinetics_set = "bernacchi-2001";
  fit.kinetics = kinetics();
  fit.leaf = leaf;
  fit.Tleaf = 25;
  fit.Patm = 101.3;
  fit.certified = true;
  fit.permitted = {Limitation::rubisco, Limitation::rubp};
  if (std::isfinite(leaf.TPU)) fit.permitted.push_back(Limitation::tpu);
  fit.Vcmax = estimated("Vcmax", leaf.Vcmax, 2.5);
  fit.J = estimated("J", leaf.J, 4);
  fit.TPU = estimated("TPU", leaf.TPU, 0.3);
  fit.Rday = estimated("Rday", leaf.Rday, 0.5);
  if (!std::isfinite(leaf.TPU)) {
    fit.TPU.status = Status::lower_bound;
    fit.TPU.value = fit.TPU.se = fit.TPU.high = std::nullopt;
    fit.TPU.low = 7.9;
  }
  for (std::size_t i = 0; i < Ci.size(); ++i) {
    const C3Rate rate = c3_assimilation(Ci[i], leaf, fit.kinetics);
    const double A = rate.A + noise * wiggle(i);
    s.curve.rows.push_back(row_at(i, Ci[i], A));
    fit.used.push_back(i);
    fit.rows.push_back({i, Ci[i], A, rate.A, A - rate.A, rate.limited_by, {}, 1, 1, {}});
    fit.ssr += (A - rate.A) * (A - rate.A);
    if (fit.limited_by.empty() || fit.limited_by.back() != rate.limited_by) {
      if (!fit.limited_by.empty()) {
        fit.transitions.push_back(
            {fit.limited_by.back(), rate.limited_by, (Ci[i] + Ci[i - 1]) / 2});
      }
      fit.limited_by.push_back(rate.limited_by);
    }
  }
  fit.points = Ci.size();
  fit.df = Ci.size() > 4 ? Ci.size() - 4 : 0;
  fit.rmse = fit.df > 0 ? std::sqrt(fit.ssr / static_cast<double>(fit.df)) : 0;
  return s;
}

inline const std::vector<double> usual_Ci = {45,  80,  120, 170,  230,  290, 380,
                                             480, 620, 800, 1000, 1250, 1500};

inline Sample typical() {
  Sample s = sample("plot 3, leaf 12", {61.2, 120.4, 8.6, 1.1}, usual_Ci);
  for (Estimate* e : {&s.fit.Vcmax, &s.fit.J, &s.fit.TPU, &s.fit.Rday}) {
    e->low_widened = *e->low - 1;
    e->high_widened = *e->high + 1;
  }
  s.fit.response_set = "bernacchi-2001";
  s.fit.at25 = {{"Vcmax25", 61.2, 58.7, 63.7}, {"Rday25", 1.1, 0.6, 1.6}};
  for (std::size_t k : {std::size_t{13}, std::size_t{14}}) {
    CurveRow row = row_at(k, 300 + 60.0 * static_cast<double>(k - 13), 9 + double(k - 13));
    row.use = false;
    row.why = k == 13 ? "not stable" : "gsw below its floor";
    s.curve.rows.push_back(row);
  }
  return s;
}

inline Sample without_tpu() {
  return sample("no TPU seen", {48, 95, infinity, 0.8}, usual_Ci);
}

/// J limits nothing: not identified, and infinite in the leaf.
inline Sample j_not_identified() {
  Sample s = sample("J unknown", {48, infinity, infinity, 0.8}, {45, 80, 120, 170, 230, 290});
  s.fit.J = Estimate{};
  s.fit.J.symbol = "J";
  s.fit.certified = false;
  s.fit.notes.push_back({NoteLevel::warning, "j-not-identified",
                         "no used point is limited by RuBP; J is not identified"});
  return s;
}

}  // namespace leafwright::fixtures
