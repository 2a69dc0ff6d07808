#include "fit/c4.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/c4_linear.hpp"
#include "fit/fitted.hpp"
#include "fit/pathway.hpp"
#include "support/c4_curves.hpp"

namespace leafwright {
namespace {

using c4sim::draw;
using c4sim::Regime;

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::array<C4Plateau, 4> plateaus{C4Plateau::unnamed, C4Plateau::vcmax, C4Plateau::vpr,
                                            C4Plateau::j};

C4FitOptions options(C4Plateau plateau) {
  C4FitOptions o;
  o.kinetics = *find_c4_kinetics("boyd-2015");
  o.plateau = plateau;
  o.budget = false;
  return o;
}

bool beaten(double ours, double theirs, const C4Rows& rows) {
  double scale = 0;
  for (const double A : rows.A) scale += A * A;
  return theirs < ours - std::max(1e-3 * ours, 1e-6 * scale);
}

/// How many of `count` hard curves a search by downhill simplex from `starts` places fits better.
int times_beaten(C4Plateau plateau, std::uint32_t count, int starts) {
  int times = 0;
  for (std::uint32_t i = 0; i < count; ++i) {
    const C4Rows rows = c4sim::hard_rows(11, i);
    const double ours = make_c4_model(rows, plateau, {})->solve({}, nullptr).ssr;
    times += beaten(ours, c4sim::long_search(rows, plateau, starts, 3, i), rows) ? 1 : 0;
  }
  return times;
}

TEST(C4Fit, NoLongSearchBeatsTheExactForms) {
  EXPECT_EQ(times_beaten(C4Plateau::unnamed, 60, 8), 0);
  EXPECT_EQ(times_beaten(C4Plateau::vpr, 60, 8), 0);
}

TEST(C4Fit, ALongSearchSeldomBeatsTheOthers) {
  EXPECT_LE(times_beaten(C4Plateau::vcmax, 25, 8), 1);
  EXPECT_LE(times_beaten(C4Plateau::j, 25, 8), 1);
}

TEST(C4Fit, NoiseFreeCurvesGiveTheirTruth) {
  for (const C4Plateau plateau : plateaus) {
    Regime regime{"noise free", plateau};
    regime.noise = 0;
    const auto d = draw(1, 1, regime);
    const auto fit = fit_c4_curve(d.curve, options(plateau));
    ASSERT_TRUE(fit.has_value()) << fit.error().text();
    const std::string what = c4_plateau_name(plateau);
    EXPECT_NEAR(fit->c4->Vpmax, d.truth.Vpmax, 1e-4 * d.truth.Vpmax) << what;
    EXPECT_NEAR(fit->c4->top, d.truth.top, 1e-4 * d.truth.top) << what;
    EXPECT_NEAR(fit->c4->Rday, d.truth.Rday, 2e-3) << what;
    EXPECT_NEAR(*find_estimate(*fit, "initial_slope")->value, d.slope, 1e-4 * d.slope) << what;
    EXPECT_EQ(fit->pathway, "C4");
    EXPECT_EQ(fit->certified, plateau == C4Plateau::unnamed || plateau == C4Plateau::vpr);
  }
}

TEST(C4Fit, ThePlateauIsCalledWhatTheUserCallsIt) {
  const std::array<const char*, 4> names{"plateau", "Vcmax", "Vpr", "J"};
  for (std::size_t i = 0; i < 4; ++i) {
    const auto d = draw(2, 3, Regime{"names", plateaus[i]});
    const auto fit = fit_c4_curve(d.curve, options(plateaus[i]));
    ASSERT_TRUE(fit.has_value());
    std::vector<std::string> symbols;
    for (const Estimate* e : estimates_of(*fit)) symbols.push_back(e->symbol);
    EXPECT_EQ(symbols, (std::vector<std::string>{"Vpmax", names[i], "Rday", "initial_slope"}));
    EXPECT_EQ(find_estimate(*fit, "TPU"), nullptr);
  }
}

TEST(C4Fit, SsrIsThatOfThePrintedParameters) {
  for (const C4Plateau plateau : plateaus) {
    const auto d = draw(3, 5, Regime{"ssr", plateau});
    const auto fit = fit_c4_curve(d.curve, options(plateau));
    ASSERT_TRUE(fit.has_value());
    double sum = 0;
    for (const FittedRow& row : fit->rows) {
      const double e = row.A - fitted_rate(*fit, row.Ci);
      sum += e * e;
    }
    EXPECT_NEAR(sum, fit->ssr, 1e-9 * fit->ssr) << c4_plateau_name(plateau);
  }
}

TEST(C4Fit, ProfileEndsLieOnTheThreshold) {
  for (const C4Plateau plateau : plateaus) {
    const auto d = draw(4, 2, Regime{"profile", plateau});
    const auto model = make_c4_model(d.rows, plateau, {});
    SmallMinimum best = model->solve({}, nullptr);
    const double threshold = profile_threshold(*model, best.ssr, 0.95);
    for (const std::size_t k : {c4_vpmax, c4_top, c4_rday}) {
      const SmallExtent e = small_profile(*model, best, k, threshold);
      for (const auto& end : {e.low, e.high}) {
        if (!end || *end <= 0) continue;
        HeldParameters held;
        held[k] = model->specs()[k].reciprocal ? 1 / *end : *end;
        const double ssr = model->solve(held, &best.p).ssr;
        EXPECT_NEAR(ssr, threshold, 1e-5 * threshold) << c4_plateau_name(plateau) << " " << k;
      }
    }
  }
}

TEST(C4Fit, IntervalsHoldTheTruthAboutAsOftenAsTheySay) {
  int covered = 0, slope_covered = 0, draws = 0;
  const Regime regime{"coverage", C4Plateau::unnamed};
  for (std::uint32_t i = 0; i < 300; ++i) {
    const auto d = draw(5, i, regime);
    const auto fit = fit_c4_curve(d.curve, options(C4Plateau::unnamed));
    ASSERT_TRUE(fit.has_value());
    const auto holds = [&](const char* symbol, double truth) {
      const Estimate& e = *find_estimate(*fit, symbol);
      return (!e.low || *e.low <= truth) && (!e.high || *e.high >= truth);
    };
    ++draws;
    covered += holds("Vpmax", d.truth.Vpmax) ? 1 : 0;
    slope_covered += holds("initial_slope", d.slope) ? 1 : 0;
  }
  EXPECT_EQ(covered, slope_covered);  // one is a rising function of the other
  EXPECT_GE(covered, 0.90 * draws);
  EXPECT_LE(covered, 0.99 * draws);
}

TEST(C4Fit, OneSideOfTheCurveIsNotTheOther) {
  Regime low{"low only", C4Plateau::unnamed};
  low.lowest = 10;
  low.highest = 25;
  const auto fit = fit_c4_curve(draw(6, 1, low).curve, options(C4Plateau::unnamed));
  ASSERT_TRUE(fit.has_value());
  const Estimate& top = *find_estimate(*fit, "plateau");
  EXPECT_FALSE(top.high) << "no row is on the plateau";
  EXPECT_NE(top.status, Status::estimated);

  Regime high{"high only", C4Plateau::unnamed};
  high.lowest = 600;
  high.highest = 1500;
  const auto flat = fit_c4_curve(draw(6, 1, high).curve, options(C4Plateau::unnamed));
  ASSERT_TRUE(flat.has_value());
  for (const char* symbol : {"Vpmax", "initial_slope"}) {
    EXPECT_NE(find_estimate(*flat, symbol)->status, Status::estimated) << symbol;
    EXPECT_FALSE(find_estimate(*flat, symbol)->high) << symbol;
  }
  EXPECT_EQ(find_estimate(*flat, "Rday")->status, Status::not_identified);
  EXPECT_FALSE(find_estimate(*flat, "plateau")->high) << "it may grow together with Rday";
}

TEST(C4Fit, RdayIsHeldAsAsked) {
  const auto d = draw(7, 1, Regime{"rday", C4Plateau::vcmax});
  C4FitOptions o = options(C4Plateau::vcmax);
  o.rday = {RdaySource::From::value, 1.5};
  auto fit = fit_c4_curve(d.curve, o);
  ASSERT_TRUE(fit.has_value());
  EXPECT_EQ(find_estimate(*fit, "Rday")->status, Status::fixed);
  EXPECT_EQ(fit->c4->Rday, 1.5);
  o.rday = {RdaySource::From::fraction, 0.02};
  fit = fit_c4_curve(d.curve, o);
  ASSERT_TRUE(fit.has_value());
  EXPECT_NEAR(fit->c4->Rday, 0.02 * fit->c4->top, 1e-9);
  o.plateau = C4Plateau::unnamed;
  EXPECT_EQ(fit_c4_curve(d.curve, o).error().code, ErrorCode::usage);
}

TEST(C4Fit, WhatCannotBeFittedSaysWhy) {
  auto d = draw(8, 1, Regime{"broken", C4Plateau::unnamed});
  C4FitOptions o = options(C4Plateau::unnamed);
  Curve two = d.curve;
  two.rows.resize(2);
  EXPECT_NE(fit_c4_curve(two, o).error().text().find("3 distinct Ci"), std::string::npos);
  Curve none = d.curve;
  for (CurveRow& row : none.rows) row.use = false;
  EXPECT_EQ(fit_c4_curve(none, o).error().code, ErrorCode::unfit);
  Curve hot = d.curve;
  for (CurveRow& row : hot.rows) row.Tleaf = 300;
  EXPECT_NE(fit_c4_curve(hot, o).error().text().find("Tleaf"), std::string::npos);
  o.kinetics = nullptr;
  EXPECT_EQ(fit_c4_curve(d.curve, o).error().code, ErrorCode::usage);
}

TEST(C4Fit, ABadCurveStopsNoOther) {
  std::vector<Curve> curves{draw(9, 1, Regime{"a", C4Plateau::unnamed}).curve,
                            draw(9, 2, Regime{"a", C4Plateau::unnamed}).curve};
  curves[0].rows.resize(1);
  const CampaignFit out = fit_c4_curves(curves, options(C4Plateau::unnamed));
  ASSERT_EQ(out.fits.size(), 1U);
  ASSERT_EQ(out.failed.size(), 1U);
  EXPECT_EQ(out.failed[0].curve_id, "1");
}

TEST(C4Options, DefaultsOfThePathwayAreThoseThatAreUsed) {
  const Settings given(fit_settings());
  EXPECT_EQ(settings_for(Pathway::c4, given).text("kinetics"), "boyd-2015");
  EXPECT_EQ(settings_for(Pathway::c4, given).text("at25"), "boyd-2015");
  EXPECT_EQ(settings_for(Pathway::c3, given).text("kinetics"), "bernacchi-2001");
  EXPECT_TRUE(fit_method(Pathway::c4, given).has_value());
}

TEST(C4Options, WhatAC4FitHasNotIsRefused) {
  const auto with = [](const char* name, const char* value) {
    Settings s(fit_settings());
    EXPECT_TRUE(s.set(name, value, SettingOrigin::option).has_value()) << name;
    return fit_method(Pathway::c4, s);
  };
  EXPECT_EQ(with("limitations", "rubisco").error().code, ErrorCode::usage);
  EXPECT_EQ(with("smooth", "0.98").error().code, ErrorCode::usage);
  EXPECT_EQ(with("gm", "0.5").error().code, ErrorCode::refused);
  EXPECT_EQ(with("intervals", "bootstrap").error().code, ErrorCode::refused);
  EXPECT_EQ(with("kinetics", "bernacchi-2001").error().code, ErrorCode::usage);
  EXPECT_EQ(with("rday", "fraction:0.02").error().code, ErrorCode::usage);
  EXPECT_EQ(with("kinetic", "Km=700").error().code, ErrorCode::usage);
  EXPECT_TRUE(with("plateau", "vcmax").has_value());
}

TEST(C4Linear, NothingHeldAtInfinityOnBothSides) {
  C4LinearProblem p;
  p.A = {1, 2, 3};
  p.f = {0.1, 0.2, 0.3};
  p.c = {0.01, 0.02, 0.03};
  HeldParameters held;
  held[0] = held[1] = infinity;
  EXPECT_EQ(solve_c4_linear(p, held).ssr, infinity);
}

}  // namespace
}  // namespace leafwright
