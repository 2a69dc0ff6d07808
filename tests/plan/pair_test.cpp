// Up and down ramps of one simulated leaf, fitted together, against the truth of the simulator.
#include "ramp/pair.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>

#include "fit/fit.hpp"
#include "plan/simulated_record.hpp"
#include "ramp/identify.hpp"
#include "ramp/ramp_intervals.hpp"

namespace leafwright {
namespace {

struct Leaf {
  double lag_up = 0, lag_down = 0;
  double weaker_down = 0;  ///< share of Vcmax, J lost before the way down
  double rate = 200;
  double less_J_down = 0;
};

SimulatorSettings settings(const Leaf& leaf, bool up, bool empty) {
  SimulatorSettings s;
  s.empty = empty;
  s.air.Tleaf = 25;
  s.leaf.c3 = {64, 118, 20, 1.1};
  if (!up) {
    s.leaf.c3.Vcmax *= 1 - leaf.weaker_down;
    s.leaf.c3.J *= (1 - leaf.weaker_down) * (1 - leaf.less_J_down);
  }
  s.leaf.kinetics =
      *kinetics_at(**find_kinetics("bernacchi-2001"), 25, s.air.Patm, Basis::partial_pressure);
  s.lag_up = leaf.lag_up;
  s.lag_down = leaf.lag_down;
  s.source.start = up ? 50 : 1000;
  s.source.end = up ? 1000 : 50;
  s.source.rate = leaf.rate;
  s.source.hold_before = s.source.hold_after = 40;
  s.step = 0.1;
  return s;
}

struct Quiet {
  Simulation up, down, empty;
  explicit Quiet(const Leaf& leaf)
      : up(*simulate_quiet(settings(leaf, true, false))),
        down(*simulate_quiet(settings(leaf, false, false))),
        empty(*simulate_quiet(settings(leaf, true, true))) {}
};

struct Draw {
  RampRecord up, down;
  CorrectedRamp a, b;
  RampPair pair;
  CurveFit together, only_up;
};

CurveFit fit_of(const Curve& curve) {
  C3FitOptions fit;
  fit.kinetics = *find_kinetics("bernacchi-2001");
  fit.budget = false;
  return *fit_curve(curve, fit);
}

void add_rows(const CorrectedRamp& ramp, const std::vector<double>& Ci, double Patm, Curve& curve) {
  for (std::size_t i = 0; i < ramp.A.size(); ++i) {
    CurveRow row;
    row.row = curve.rows.size();
    row.A = ramp.A[i];
    row.Ci = Ci[i];
    row.Tleaf = 25;
    row.Patm = Patm;
    row.use = ramp.use[i] != 0;
    curve.rows.push_back(row);
  }
}

Draw draw(const Quiet& quiet, std::uint64_t seed, const PairOptions& options = {}) {
  const RampRecord empty = simulated_record(with_noise(quiet.empty, seed, 1));
  Draw out;
  out.up = simulated_record(with_noise(quiet.up, seed, 2));
  out.down = simulated_record(with_noise(quiet.down, seed, 3));
  const GasPath path = *identify({empty});
  const auto corrected = [&](const RampRecord& record) {
    CorrectionInput input;
    input.leaf = &record;
    input.path = &path;
    input.air.gbw_is = quiet.up.settings.stomata.layer.is;
    input.air.stomatal_ratio = 1;
    CorrectionOptions with;
    with.drift_sd = quiet.up.settings.noise.drift;
    with.drift_time_s = quiet.up.settings.noise.drift_time;
    return *correct(input, with);
  };
  out.a = corrected(out.up);
  out.b = corrected(out.down);
  const std::vector<const CorrectedRamp*> ramps = {&out.a, &out.b};
  const std::vector<std::string> names = {"up", "down"};
  auto pair = fit_pair(ramps, names, options);
  EXPECT_TRUE(pair) << pair.error().text();
  out.pair = *pair;
  const double Patm = quiet.up.settings.air.Patm;
  Curve both, one;
  add_rows(out.a, out.pair.Ci[0], Patm, both);
  add_rows(out.b, out.pair.Ci[1], Patm, both);
  add_rows(out.a, out.a.Ci, Patm, one);
  out.together = fit_of(both);
  out.only_up = fit_of(one);
  std::vector<RecordRow> rows;
  for (std::size_t k = 0; k < 2; ++k) {
    for (std::size_t i = 0; i < ramps[k]->A.size(); ++i) rows.push_back({k, i});
  }
  widen_to_pair_errors(ramps, out.pair, rows, out.together);
  return out;
}

bool holds(const Estimate& e, double truth) {
  return e.low.value_or(-INFINITY) <= truth && truth <= e.high.value_or(INFINITY);
}

/// Mean and scatter of one number over draws.
struct Scatter {
  double sum = 0, squares = 0;
  int n = 0;
  void add(double x) {
    sum += x;
    squares += x * x;
    ++n;
  }
  [[nodiscard]] double mean() const { return sum / n; }
  [[nodiscard]] double sd() const { return std::sqrt((squares - sum * sum / n) / (n - 1)); }
};

/// What many draws say of one case.
struct Many {
  Scatter lag, lag_se, level, level_se, Vcmax, Vcmax_se, J, J_se, Vcmax_up, J_up;
  int shown = 0, asymmetric = 0, differs = 0, held = 0;
};

Many many(const Leaf& leaf, int draws, std::uint64_t first = 1) {
  const Quiet quiet(leaf);
  const C3Leaf& truth = quiet.up.settings.leaf.c3;
  Many out;
  for (int k = 0; k < draws; ++k) {
    const Draw d = draw(quiet, first + static_cast<std::uint64_t>(k));
    const RampPair& p = d.pair;
    out.lag.add(p.lag_s);
    out.lag_se.add(p.lag_se);
    out.level.add(p.level);
    out.level_se.add(p.level_se);
    out.Vcmax.add(*d.together.Vcmax.value);
    out.J.add(*d.together.J.value);
    out.Vcmax_se.add(*d.together.Vcmax.se);
    out.J_se.add(*d.together.J.se);
    out.Vcmax_up.add(*d.only_up.Vcmax.value);
    out.J_up.add(*d.only_up.J.value);
    out.held += holds(d.together.Vcmax, truth.Vcmax) + holds(d.together.J, truth.J);
    out.shown += p.lag_shown ? 1 : 0;
    out.asymmetric += p.symmetric ? 0 : 1;
    out.differs += std::abs(p.level) > 2.576 * p.level_se ? 1 : 0;
  }
  return out;
}

/// Many draws, for the table of the docs: LEAFWRIGHT_PAIR_DRAWS=N.
TEST(Pair, Table) {
  const char* wanted = std::getenv("LEAFWRIGHT_PAIR_DRAWS");
  if (wanted == nullptr) GTEST_SKIP();
  const int draws = std::atoi(wanted);
  for (const Leaf& leaf :
       {Leaf{0, 0, 0}, Leaf{4, 4, 0}, Leaf{0, 0, 0.02}, Leaf{4, 4, 0.02}, Leaf{4, 8, 0},
        Leaf{8, 8, 0}, Leaf{0, 0, 0, 100}, Leaf{0, 0, 0, 400}, Leaf{4, 4, 0, 400}}) {
    const Many m = many(leaf, draws);
    std::cout << "rate " << leaf.rate << " lag " << leaf.lag_up << "/" << leaf.lag_down
              << " weaker " << leaf.weaker_down << ": lag " << m.lag.mean() << " sd " << m.lag.sd()
              << " se " << m.lag_se.mean() << " | level " << m.level.mean() << " sd "
              << m.level.sd() << " se " << m.level_se.mean() << " | shown " << m.shown << " asym "
              << m.asymmetric << " differs " << m.differs << " of " << m.lag.n << "\n    Vcmax "
              << m.Vcmax.mean() << " sd " << m.Vcmax.sd() << " se " << m.Vcmax_se.mean() << " J "
              << m.J.mean() << " sd " << m.J.sd() << " se " << m.J_se.mean() << " up alone "
              << m.Vcmax_up.mean() << " sd " << m.Vcmax_up.sd() << " " << m.J_up.mean() << " held "
              << m.held << " of " << 2 * m.lag.n << std::endl;
  }
}

TEST(Pair, FindsTheLagOfTheLeafAndTakesItOut) {
  constexpr int draws = 12;
  const Many m = many({4, 4, 0}, draws);
  // Standard errors of a mean of 12; the simulator's truth is 4 s.
  EXPECT_NEAR(m.lag.mean(), 4, 3 * m.lag_se.mean() / std::sqrt(double{draws}));
  EXPECT_EQ(m.shown, draws);
  EXPECT_LE(m.asymmetric, 1);
  // A ramp alone is 1 % (Vcmax) and 2 % (J) high by this lag; the pair is not.
  EXPECT_GT(m.Vcmax_up.mean(), 64 * 1.008);
  EXPECT_GT(m.J_up.mean(), 118 * 1.015);
  EXPECT_NEAR(m.Vcmax.mean(), 64, 64 * 0.004);
  EXPECT_NEAR(m.J.mean(), 118, 118 * 0.004);
  EXPECT_GE(m.held, 2 * draws * 85 / 100);
}

TEST(Pair, NoLagIsNotFoundWhereThereIsNone) {
  constexpr int draws = 12;
  const Many m = many({0, 0, 0}, draws);
  EXPECT_LE(m.shown, 1);
  EXPECT_LE(m.asymmetric, 1);
  EXPECT_LE(m.differs, 1);
  EXPECT_LT(std::abs(m.lag.mean()), 3 * m.lag_se.mean() / std::sqrt(double{draws}));
}

TEST(Pair, AWeakerLeafOnTheWayDownIsALevelAndNoLag) {
  constexpr int draws = 8;
  const Many m = many({0, 0, 0.02}, draws);
  EXPECT_LE(m.shown, 1);
  EXPECT_EQ(m.differs, draws);
  EXPECT_NEAR(m.level.mean(), -0.02, 0.003);
}

TEST(Pair, WhatIsNeitherLagNorLevelIsSaid) {
  // The way down loses J and keeps Vcmax: the passes part at high CO2 alone.
  Leaf leaf;
  leaf.less_J_down = 0.05;
  const Draw d = draw(Quiet(leaf), 3);
  EXPECT_FALSE(d.pair.symmetric) << d.pair.symmetry_p;
  EXPECT_EQ(d.pair.removed_s, 0);
  const auto said = [&](const std::string& about) {
    return std::any_of(d.pair.notes.begin(), d.pair.notes.end(),
                       [&](const Note& note) { return note.about == about; });
  };
  EXPECT_TRUE(said("not-symmetric"));
  EXPECT_TRUE(said("pair-cannot-show"));
}

TEST(Pair, AStatedLagIsTakenOutAsStated) {
  PairOptions options;
  options.own_lag = {OwnLag::Kind::stated, 2.5};
  const Quiet quiet({4, 4, 0});
  const Draw stated = draw(quiet, 5, options);
  EXPECT_EQ(stated.pair.removed_s, 2.5);
  options.own_lag = {OwnLag::Kind::keep, 0};
  const Draw kept = draw(quiet, 5, options);
  EXPECT_EQ(kept.pair.removed_s, 0);
  EXPECT_NEAR(kept.pair.lag_s, stated.pair.lag_s, 1e-9);
  for (std::size_t i = 0; i < kept.a.Ci.size(); ++i) {
    if (kept.a.use[i] == 0) continue;
    ASSERT_NEAR(kept.pair.Ci[0][i], kept.a.Ci[i], 1e-9);
  }
}

TEST(Pair, TwoRampsUpAreNoPair) {
  const Quiet quiet({0, 0, 0});
  const Draw d = draw(quiet, 1);
  const std::vector<const CorrectedRamp*> ramps = {&d.a, &d.a};
  const std::vector<std::string> names = {"one", "two"};
  const auto pair = fit_pair(ramps, names);
  ASSERT_FALSE(pair);
  EXPECT_NE(pair.error().text().find("2 up and 0 down"), std::string::npos) << pair.error().text();
}

}  // namespace
}  // namespace leafwright
