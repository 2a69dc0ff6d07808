// How often intervals hold the truth: invented curves with known parameters, fitted through the
// front door, counted per parameter.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "fit/fit.hpp"
#include "support/stress_curves.hpp"

namespace leafwright::coverage {

struct Regime {
  std::string name;
  stress::Plain plain;
  std::size_t n_low = 13, n_high = 13;       ///< rows, drawn evenly
  std::optional<LimitationSet> limitations;  ///< empty: the F-test rule
};

/// One parameter over all draws of a regime.
struct Count {
  std::size_t draws = 0, covered = 0, covered_widened = 0, open = 0;
  std::size_t bounds = 0, bounds_hold = 0;     ///< draws in which it limits no row and is bounded
  std::vector<double> widths, widths_widened;  ///< of closed intervals, relative to the truth
  [[nodiscard]] double share(std::size_t part) const {
    return draws == 0 ? 0 : static_cast<double>(part) / static_cast<double>(draws);
  }
};

struct Study {
  std::array<Count, 4> parameters;  ///< Vcmax, J, TPU, Rday
  std::size_t curves = 0, with_tpu = 0, failed = 0;
  double rho = 0;  ///< mean over groups
};

inline double median(std::vector<double> v) {
  if (v.empty()) return 0;
  const auto middle = v.begin() + static_cast<std::ptrdiff_t>(v.size() / 2);
  std::nth_element(v.begin(), middle, v.end());
  return *middle;
}

inline void count(Count& out, const Estimate& e, double truth) {
  if (!e.value) {  // no used row: a lower bound, or nothing
    if (!e.low) return;
    ++out.bounds;
    out.bounds_hold += *e.low <= truth ? 1U : 0U;
    return;
  }
  const auto within = [&](const std::optional<double>& low, const std::optional<double>& high) {
    return (!low || *low <= truth) && (!high || *high >= truth);
  };
  ++out.draws;
  out.covered += within(e.low, e.high) ? 1U : 0U;
  out.covered_widened += within(e.low_widened, e.high_widened) ? 1U : 0U;
  const bool closed = e.low && e.high;
  out.open += closed ? 0 : 1;
  if (closed) out.widths.push_back((*e.high - *e.low) / truth);
  if (e.low_widened && e.high_widened) {
    out.widths_widened.push_back((*e.high_widened - *e.low_widened) / truth);
  }
}

inline Curve as_curve(const stress::Curve& c, std::string id) {
  Curve out;
  out.curve_id = std::move(id);
  for (std::size_t i = 0; i < c.size(); ++i) {
    CurveRow row;
    row.row = i;
    row.A = c.A[i];
    row.Ci = c.Ci[i];
    row.Tleaf = 25;
    row.Patm = 100;
    out.rows.push_back(row);
  }
  return out;
}

inline C3FitOptions options_for(const stress::Curve& c) {
  C3FitOptions o;
  o.kinetics = &kinetics_sets().front();
  o.overrides.gamma_star = c.G;
  o.overrides.Km = c.Km;
  o.budget = false;
  return o;
}

/// `draws` curves in groups of 50 (one rho is estimated per group).
inline Study run(const Regime& regime, std::size_t draws, std::uint64_t seed = 5) {
  Study out;
  constexpr std::size_t group = 50;
  std::size_t groups = 0;
  for (std::size_t first = 0; first < draws; first += group) {
    std::vector<Curve> curves;
    std::vector<C3Leaf> truths;
    C3FitOptions options;
    for (std::size_t k = first; k < std::min(draws, first + group); ++k) {
      stress::Plain plain = regime.plain;
      plain.n = regime.n_low + k % (regime.n_high - regime.n_low + 1);
      const auto c = stress::plain_curve(seed, static_cast<std::uint32_t>(k), plain);
      curves.push_back(as_curve(c, std::to_string(k)));
      truths.push_back(c.truth);
      options = options_for(c);
    }
    options.limitations = regime.limitations;
    const CampaignFit fit = fit_curves(curves, options);
    out.failed += fit.failed.size();
    out.rho += fit.correlation.value_or(0);
    ++groups;
    for (const CurveFit& f : fit.fits) {
      const C3Leaf& truth = truths[std::stoul(f.curve_id) - first];
      count(out.parameters[0], f.Vcmax, truth.Vcmax);
      count(out.parameters[1], f.J, truth.J);
      count(out.parameters[2], f.TPU, truth.TPU);
      count(out.parameters[3], f.Rday, truth.Rday);
      const auto& by = f.limited_by;
      out.with_tpu += std::find(by.begin(), by.end(), Limitation::tpu) != by.end() ? 1U : 0U;
      ++out.curves;
    }
  }
  out.rho /= static_cast<double>(groups);
  return out;
}

/// The regimes of the study: name, curve, rows, limitation set.
inline std::vector<Regime> regimes() {
  constexpr LimitationSet all{true, true, true};
  stress::Plain seen, absent, edge;
  seen.tpu_drop = 0.12;
  absent.tpu_drop = -1;
  edge.tpu_drop = 0;
  stress::Plain correlated = seen;
  correlated.correlation = 0.5;
  stress::Plain absent_correlated = absent;
  absent_correlated.correlation = 0.5;
  return {{"all states seen, n 13", seen, 13, 13, all},
          {"TPU absent, n 13", absent, 13, 13, all},
          {"TPU at the edge, n 13", edge, 13, 13, all},
          {"all states seen, n 6-8", seen, 6, 8, all},
          {"rule `auto`, TPU seen, n 13", seen, 13, 13, {}},
          {"rule `auto`, TPU absent, n 13", absent, 13, 13, {}},
          {"rule `auto`, TPU absent, n 6-8", absent, 6, 8, {}},
          {"AR(1) 0.5, all states seen, n 13", correlated, 13, 13, all},
          {"AR(1) 0.5, rule `auto`, TPU absent, n 13", absent_correlated, 13, 13, {}}};
}

}  // namespace leafwright::coverage
