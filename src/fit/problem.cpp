#include "fit/problem.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

Result<void> check(std::span<const Observation> observations, LimitationSet permitted,
                   RdayMode mode, double rday_value) {
  if (permitted.count() == 0) {
    return fail(ErrorCode::unfit, "no limitation is permitted",
                "at least one of rubisco, rubp, tpu");
  }
  if (mode == RdayMode::fraction && !permitted.rubisco) {
    return fail(ErrorCode::unfit, "Rday is to be a fraction of Vcmax, but rubisco is not permitted",
                "a limitation set with rubisco", "give --rday as a number or free");
  }
  if (mode != RdayMode::free && (!std::isfinite(rday_value) || rday_value < 0)) {
    return fail(ErrorCode::unfit, fmt::format("Rday is held at {}", rday_value),
                "a number of 0 or more (respiration is positive)");
  }
  for (std::size_t i = 0; i < observations.size(); ++i) {
    const Observation& o = observations[i];
    const Kinetics& k = o.kinetics;
    if (!(o.Ci > 0) || !std::isfinite(o.Ci) || !std::isfinite(o.A)) {
      return fail(ErrorCode::unfit, fmt::format("row {}: A = {}, Ci = {}", i, o.A, o.Ci),
                  "finite A and Ci above 0",
                  "below Ci = 0 carboxylation has no meaning: leave the row out");
    }
    if (!(o.weight > 0) || !(k.Km > 0) || !(k.gamma_star > 0) || !std::isfinite(o.weight) ||
        !std::isfinite(k.Km) || !std::isfinite(k.gamma_star)) {
      return fail(ErrorCode::unfit,
                  fmt::format("row {}: weight = {}, Km = {}, GammaStar = {}", i, o.weight, k.Km,
                              k.gamma_star),
                  "positive finite values");
    }
  }
  return {};
}

std::size_t count_levels(std::span<const Observation> observations) {
  std::vector<double> ci;
  ci.reserve(observations.size());
  for (const Observation& o : observations) ci.push_back(o.Ci);
  std::sort(ci.begin(), ci.end());
  std::size_t levels = ci.empty() ? 0 : 1;
  for (std::size_t i = 1; i < ci.size(); ++i) {
    if (ci[i] - ci[i - 1] > 1e-9 * ci[i]) ++levels;
  }
  return levels;
}

struct RowRatios {
  double r, s, u;
};

}  // namespace

std::vector<Limitation> LimitationSet::list() const {
  std::vector<Limitation> out;
  if (rubisco) out.push_back(Limitation::rubisco);
  if (rubp) out.push_back(Limitation::rubp);
  if (tpu) out.push_back(Limitation::tpu);
  return out;
}

Result<C3Problem> make_problem(std::span<const Observation> observations, LimitationSet permitted,
                               RdayMode mode, double rday_value, const Electrons& electrons,
                               double alpha, std::size_t min_points) {
  if (auto ok = check(observations, permitted, mode, rday_value); !ok) return fail(ok.error());
  const std::size_t n = observations.size();
  C3Problem p;
  p.permitted = permitted;
  p.rday_mode = mode;
  p.rday_value = rday_value;
  p.min_points = std::max<std::size_t>(1, min_points);
  p.levels = count_levels(observations);
  const auto states = static_cast<std::size_t>(permitted.count());
  if (p.levels <= (mode == RdayMode::free ? states : states - 1)) {
    return fail(ErrorCode::unfit,
                fmt::format("{} usable row{} at {} distinct Ci", n, n == 1 ? "" : "s", p.levels),
                fmt::format("more than {} distinct Ci for {} limitation{}{}",
                            mode == RdayMode::free ? states : states - 1, states,
                            states == 1 ? "" : "s", mode == RdayMode::free ? " and Rday" : ""),
                "permit fewer limitations (--limitations) or hold Rday (--rday VALUE)");
  }
  if (!permitted.rubisco && !permitted.rubp) {
    for (std::size_t i = 0; i < n; ++i) {
      if (observations[i].Ci <= (1 + 3 * alpha) * observations[i].kinetics.gamma_star) {
        return fail(ErrorCode::unfit,
                    fmt::format("row {} at Ci = {}: TPU cannot limit there, and nothing else is "
                                "permitted",
                                i, observations[i].Ci),
                    "Ci above (1 + 3 alpha) GammaStar", "permit rubisco or rubp as well");
      }
    }
  }

  std::vector<RowRatios> ratios(n);
  for (std::size_t i = 0; i < n; ++i) {
    const Observation& o = observations[i];
    const Kinetics& k = o.kinetics;
    const double tpu_room = o.Ci - (1 + 3 * alpha) * k.gamma_star;
    const double rubp = electrons.carboxylation * o.Ci + electrons.oxygenation * k.gamma_star;
    ratios[i].r = o.scale_V / o.scale_J * rubp / (o.Ci + k.Km);
    ratios[i].s = std::max(0.0, o.scale_J / o.scale_T * tpu_room / (3 * rubp));
    ratios[i].u = ratios[i].r * ratios[i].s;
  }
  // One order serves all pairs of states where r and s rise together; with two states only their
  // own ratio matters.
  const bool use_r = permitted.rubp;
  const bool use_s = permitted.tpu && permitted.rubp;
  p.row.resize(n);
  std::iota(p.row.begin(), p.row.end(), std::size_t{0});
  std::sort(p.row.begin(), p.row.end(), [&](std::size_t a, std::size_t b) {
    if (permitted.rubisco && use_r && ratios[a].r != ratios[b].r) return ratios[a].r < ratios[b].r;
    if (permitted.rubisco && !use_r && permitted.tpu && ratios[a].u != ratios[b].u) {
      return ratios[a].u < ratios[b].u;
    }
    if (use_s && ratios[a].s != ratios[b].s) return ratios[a].s < ratios[b].s;
    if (observations[a].Ci != observations[b].Ci) return observations[a].Ci < observations[b].Ci;
    return a < b;
  });
  if (permitted.count() == 3) {
    for (std::size_t i = 1; i < n; ++i) {
      if (ratios[p.row[i]].s < ratios[p.row[i - 1]].s) p.ordered = false;
    }
  }

  for (auto* v : {&p.A, &p.w, &p.d, &p.xc, &p.xj, &p.xp, &p.r, &p.s, &p.u}) v->resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const Observation& o = observations[p.row[i]];
    const Kinetics& k = o.kinetics;
    const RowRatios& q = ratios[p.row[i]];
    const double net = o.Ci - k.gamma_star;
    const double tpu_room = o.Ci - (1 + 3 * alpha) * k.gamma_star;
    p.A[i] = o.A;
    p.w[i] = o.weight;
    p.d[i] = o.scale_R;
    p.xc[i] = o.scale_V * net / (o.Ci + k.Km);
    p.xj[i] =
        o.scale_J * net / (electrons.carboxylation * o.Ci + electrons.oxygenation * k.gamma_star);
    p.xp[i] = tpu_room > 0 ? o.scale_T * 3 * net / tpu_room : 0;
    p.r[i] = q.r;
    p.s[i] = q.s;
    p.u[i] = q.u;
  }
  p.scale = data_scale(p);
  return p;
}

double data_scale(const C3Problem& p) {
  const double held = p.rday_mode == RdayMode::fixed ? p.rday_value : 0;
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const double gross = p.A[i] + p.d[i] * held;
    sum += p.w[i] * std::max(p.A[i] * p.A[i], gross * gross);
  }
  return sum;
}

Limitation limiting_state(const C3Problem& p, std::size_t i, const C3Leaf& leaf) {
  // Compared through the ratios, so that a row on a kink gets the same state on every machine.
  constexpr double tie = 1 + 1e-12;
  const bool tpu_can = p.s[i] > 0 && leaf.TPU < infinity;
  const bool rubisco_below_rubp = leaf.J == infinity || leaf.Vcmax * p.r[i] <= leaf.J * tie;
  if (leaf.Vcmax < infinity && rubisco_below_rubp) {
    const bool below_tpu = !tpu_can || leaf.Vcmax * p.u[i] <= leaf.TPU * tie;
    return below_tpu ? Limitation::rubisco : Limitation::tpu;
  }
  if (leaf.J < infinity && (!tpu_can || leaf.J * p.s[i] <= leaf.TPU * tie)) return Limitation::rubp;
  return Limitation::tpu;
}

double modelled_rate(const C3Problem& p, std::size_t i, const C3Leaf& leaf) {
  double gross = 0;
  switch (limiting_state(p, i, leaf)) {
    case Limitation::rubisco:
      gross = leaf.Vcmax * p.xc[i];
      break;
    case Limitation::rubp:
      gross = leaf.J * p.xj[i];
      break;
    case Limitation::tpu:
      gross = leaf.TPU * p.xp[i];
      break;
  }
  return gross - p.d[i] * leaf.Rday;
}

double sum_of_squares(const C3Problem& p, const C3Leaf& leaf) {
  double sum = 0;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const double e = p.A[i] - modelled_rate(p, i, leaf);
    sum += p.w[i] * e * e;
  }
  return sum;
}

}  // namespace leafwright
