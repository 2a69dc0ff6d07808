// Holds a solution of the exact solver against two independent searches that know nothing of it:
// the exhaustive one in extended precision and many-start Levenberg-Marquardt.
//
// Sets without Rubisco are put to the peers as sets with it: the RuBP-limited rate
// J C/(a C + b G) is (J/a) C/(C + b G/a), the TPU-limited one is 3 T C/(C - (1 + 3 alpha) G), both
// of the form of the Rubisco-limited rate.
#pragma once

#include <cmath>
#include <string>

#include "fit/exact.hpp"
#include "support/c3_exhaustive.hpp"
#include "support/lm_peer.hpp"
#include "support/stress_curves.hpp"

namespace leafwright::stress {

struct Mode {
  RdayMode mode = RdayMode::free;
  double value = 0;
};

struct PeerAnswer {
  long double ssr = std::numeric_limits<long double>::infinity();  ///< best of the peers
  long double ours = 0;  ///< our parameters in the exhaustive peer's own sum of squares
  long double scale = 0;
  std::string by;
  /// How far a peer is below, relative to sum w A^2 (negative: nowhere).
  [[nodiscard]] double gap() const { return static_cast<double>((ours - ssr) / scale); }
};

inline c3_exhaustive::Problem exhaustive_problem(const Curve& c, const LimitationSet& set,
                                                 const Mode& mode, std::size_t min_points) {
  c3_exhaustive::Problem q;
  q.C = c.Ci;
  q.A = c.A;
  q.weights = c.weights;
  q.G = c.G;
  q.alpha = c.alpha;
  q.carboxylation = c.electrons.carboxylation;
  q.oxygenation = c.electrons.oxygenation;
  q.rubp = set.rubisco && set.rubp;
  q.tpu = set.tpu && (set.rubisco || set.rubp);
  q.G_of_point = c.G_of_point.empty() ? std::vector<double>(c.size(), c.G) : c.G_of_point;
  q.Km_of_point = c.Km_of_point.empty() ? std::vector<double>(c.size(), c.Km) : c.Km_of_point;
  if (!set.rubisco) {
    for (std::size_t i = 0; i < c.size(); ++i) {
      q.Km_of_point[i] = set.rubp ? q.oxygenation * q.G_of_point[i] / q.carboxylation
                                  : -(1 + 3 * c.alpha) * q.G_of_point[i];
    }
  }
  q.min_points = min_points;
  q.respiration = mode.mode == RdayMode::free    ? c3_exhaustive::Respiration::free
                  : mode.mode == RdayMode::fixed ? c3_exhaustive::Respiration::fixed
                                                 : c3_exhaustive::Respiration::fraction;
  q.respiration_value = mode.value;
  return q;
}

/// Our parameters in the exhaustive peer's sum of squares.
inline long double peer_ssr(const Curve& c, const LimitationSet& set, const Mode& mode,
                            const C3Leaf& leaf) {
  const auto q = exhaustive_problem(c, set, mode, 1);
  const double first = set.rubisco ? leaf.Vcmax
                       : set.rubp  ? leaf.J / c.electrons.carboxylation
                                   : 3 * leaf.TPU;
  return c3_exhaustive::objective(q, first, leaf.J, leaf.TPU, leaf.Rday);
}

/// The best of LM from several places: `starts` random ones, the truth, and around `near`. Its sum
/// is taken anew in extended precision: in double it can fit the rounding of its own coefficients.
inline long double lm_best(const Curve& c, const LimitationSet& set, const Mode& mode,
                           const C3Leaf& near, int starts) {
  const std::size_t n = c.size();
  std::vector<double> wc(n), wj(n), wp(n), h(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double G = c.G_of_point.empty() ? c.G : c.G_of_point[i];
    const double Km = c.Km_of_point.empty() ? c.Km : c.Km_of_point[i];
    lm_peer::coefficients(c.Ci[i], G, Km, c.alpha, wc[i], wj[i], wp[i], h[i]);
    wj[i] = c.Ci[i] / (c.electrons.carboxylation * c.Ci[i] + c.electrons.oxygenation * G);
    if (!set.rubisco) wc[i] = set.rubp ? wj[i] : wp[i];
  }
  lm_peer::Curve q{wc.data(),
                   wj.data(),
                   wp.data(),
                   h.data(),
                   c.A.data(),
                   n,
                   set.rubisco && set.rubp,
                   set.tpu && (set.rubisco || set.rubp)};
  q.respiration = mode.mode == RdayMode::free    ? lm_peer::Respiration::free
                  : mode.mode == RdayMode::fixed ? lm_peer::Respiration::fixed
                                                 : lm_peer::Respiration::fraction;
  q.respiration_value = mode.value;
  lm_peer::Found best;
  if (starts > 0) best = lm_peer::search(q, starts);
  RandomStream draw(1, "around", "lm-peer");
  const auto finite = [](double x) { return std::isfinite(x) ? x : 1e4; };
  for (int k = 0; k < 4; ++k) {
    const C3Leaf& leaf = k == 0 ? c.truth : near;
    const auto moved = [&](double x) { return finite(x) * std::exp(0.1 * k * draw.normal()); };
    const double first = set.rubisco ? leaf.Vcmax : set.rubp ? leaf.J : leaf.TPU;
    const auto found = lm_peer::run(q, {moved(first), moved(leaf.J), moved(leaf.TPU), leaf.Rday});
    if (found.ssr < best.ssr) best = found;
  }
  return c3_exhaustive::objective(exhaustive_problem(c, set, mode, 1), best.p[0], best.p[1],
                                  best.p[2], best.p[3]);
}

/// `all_orders`: the exhaustive peer assumes no order of states (n <= 8).
inline PeerAnswer ask_peers(const Curve& c, const LimitationSet& set, const Mode& mode,
                            const C3Leaf& ours, int lm_starts, bool all_orders = false,
                            std::size_t min_points = 1) {
  PeerAnswer out;
  // With Rday held, what is fitted is A + Rday.
  const double held = mode.mode == RdayMode::fixed ? mode.value : 0;
  for (std::size_t i = 0; i < c.size(); ++i) {
    const double a = std::max(std::abs(c.A[i]), std::abs(c.A[i] + held));
    out.scale += static_cast<long double>(c.weights[i]) * a * a;
  }
  out.scale = std::max(out.scale, 1e-300L);
  out.ours = peer_ssr(c, set, mode, ours);
  const auto q = exhaustive_problem(c, set, mode, min_points);
  out.ssr = (all_orders ? c3_exhaustive::every_assignment(q) : c3_exhaustive::ordered(q)).ssr;
  out.by = "exhaustive";
  const bool weighted =
      std::any_of(c.weights.begin(), c.weights.end(), [](double w) { return w != 1; });
  if (weighted || min_points > 1 || lm_starts < 0) return out;
  const long double lm = lm_best(c, set, mode, ours, lm_starts);
  if (lm < out.ssr) {
    out.ssr = lm;
    out.by = "Levenberg-Marquardt";
  }
  return out;
}

/// The Rday modes to try on a curve, by number 0..2; `value` fits the curve's truth now and then.
inline Mode mode_of(const Curve& c, RdayMode mode, std::uint32_t number) {
  if (mode == RdayMode::free) return {mode, 0};
  constexpr double fixed[] = {0, 0.4, 1.1, 3.0}, fraction[] = {0.01, 0.015, 0.1, 0};
  const std::size_t pick = number % 5;
  if (mode == RdayMode::fixed) return {mode, pick == 4 ? c.truth.Rday : fixed[pick]};
  return {mode, pick == 4 ? 0.6 : fraction[pick]};
}

}  // namespace leafwright::stress
