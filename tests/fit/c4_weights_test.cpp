// C4 rows that count by 1/sd^2. A row of weight 2 must do what two rows of weight 1 do, whatever
// solves it.
#include <gtest/gtest.h>

#include <cmath>

#include "base/setting.hpp"
#include "fit/c4.hpp"
#include "support/c4_curves.hpp"

namespace leafwright {
namespace {

using c4sim::draw;
using c4sim::Regime;

constexpr C4Plateau plateaus[] = {C4Plateau::unnamed, C4Plateau::vcmax, C4Plateau::vpr,
                                  C4Plateau::j};

C4FitOptions options(C4Plateau plateau) {
  C4FitOptions o;
  o.kinetics = *find_c4_kinetics("boyd-2015");
  o.plateau = plateau;
  o.budget = false;
  return o;
}

C4FitOptions weighted(C4Plateau plateau) {
  C4FitOptions o = options(plateau);
  o.sd_column = "A_sd";
  return o;
}

TEST(C4Weights, ARowOfHalfTheVarianceIsTwoRows) {
  int compared = 0;
  for (const C4Plateau plateau : plateaus) {
    for (std::uint32_t number = 0; number < 20; ++number) {
      const Curve curve = draw(31, number, Regime{"weights", plateau}).curve;
      Curve by_sd = curve, twice = curve;
      for (std::size_t i = 0; i < curve.rows.size(); ++i) {
        const bool doubled = i % 3 == 0;
        by_sd.rows[i].sd = doubled ? 0.5 : 0.5 * std::sqrt(2.0);
        if (doubled) twice.rows.push_back(curve.rows[i]);
      }
      const auto a = fit_c4_curve(by_sd, weighted(plateau));
      const auto b = fit_c4_curve(twice, options(plateau));
      ASSERT_TRUE(a && b);
      EXPECT_EQ(a->certified, b->certified);
      const double n = static_cast<double>(curve.rows.size());
      const double mean = static_cast<double>(twice.rows.size()) / n;  // weights have mean 1
      EXPECT_NEAR(a->ssr * mean, b->ssr, 1e-6 * b->ssr) << c4_plateau_name(plateau) << number;
      const double scale = b->c4->top + b->c4->Vpmax;
      EXPECT_EQ(std::isfinite(a->c4->top), std::isfinite(b->c4->top));
      EXPECT_EQ(std::isfinite(a->c4->Vpmax), std::isfinite(b->c4->Vpmax));
      if (!std::isfinite(scale)) continue;  // a side without rows
      ++compared;
      EXPECT_NEAR(a->c4->Vpmax, b->c4->Vpmax, 1e-3 * scale) << c4_plateau_name(plateau) << number;
      EXPECT_NEAR(a->c4->top, b->c4->top, 1e-3 * scale) << c4_plateau_name(plateau) << number;
      // se^2 = ssr/df (X'WX)^-1: with the same X'WX but for the mean, only df differs.
      const Estimate *ours = find_estimate(*a, "Vpmax"), *theirs = find_estimate(*b, "Vpmax");
      if (!ours->se || !theirs->se) continue;
      const double df = std::sqrt(static_cast<double>(b->df) / static_cast<double>(a->df));
      EXPECT_NEAR(*ours->se, *theirs->se * df, 0.01 * *ours->se) << c4_plateau_name(plateau);
    }
  }
  EXPECT_GT(compared, 60);
}

TEST(C4Weights, OnlyRatiosOfTheSdMatter) {
  Curve curve = draw(32, 1, Regime{"weights", C4Plateau::unnamed}).curve;
  for (std::size_t i = 0; i < curve.rows.size(); ++i) curve.rows[i].sd = i < 4 ? 0.2 : 0.6;
  const auto one = fit_c4_curve(curve, weighted(C4Plateau::unnamed));
  for (CurveRow& row : curve.rows) *row.sd *= 7;
  const auto other = fit_c4_curve(curve, weighted(C4Plateau::unnamed));
  ASSERT_TRUE(one && other);
  EXPECT_TRUE(one->certified);
  EXPECT_NE(one->certificate.find("1/sd^2"), std::string::npos);
  EXPECT_NEAR(one->c4->Vpmax, other->c4->Vpmax, 1e-9 * one->c4->Vpmax);
  ASSERT_TRUE(one->weighting && other->weighting);
  EXPECT_NEAR(*one->weighting->residual_to_sd, 7 * *other->weighting->residual_to_sd, 1e-6);
  EXPECT_NEAR(one->rows.front().weight / one->rows.back().weight, 9, 1e-9);
  EXPECT_EQ(one->rows.front().sd, 0.2);
}

TEST(C4Weights, TheyGainWhereNoiseDiffers) {
  double plain = 0, by_sd = 0;
  int held = 0, draws = 0;
  for (std::uint32_t number = 0; number < 300; ++number) {
    Regime regime{"noise", C4Plateau::unnamed};
    regime.noise = 0;
    auto d = draw(33, number, regime);
    RandomStream random(33, "noise", "sd", number);
    for (CurveRow& row : d.curve.rows) {
      row.sd = random.uniform(0, 1) < 0.3 ? 2.0 : 0.2;
      row.A += *row.sd * random.normal();
    }
    const auto a = fit_c4_curve(d.curve, options(C4Plateau::unnamed));
    const auto b = fit_c4_curve(d.curve, weighted(C4Plateau::unnamed));
    ASSERT_TRUE(a && b);
    const auto miss = [&](const CurveFit& fit) {
      return std::min(1.0, std::abs(fit.c4->Vpmax / d.truth.Vpmax - 1));
    };
    plain += miss(*a);
    by_sd += miss(*b);
    const Estimate& e = *find_estimate(*b, "Vpmax");
    held += (!e.low || *e.low <= d.truth.Vpmax) && (!e.high || *e.high >= d.truth.Vpmax) ? 1 : 0;
    ++draws;
  }
  EXPECT_LT(by_sd, 0.75 * plain);
  EXPECT_GT(held, 0.91 * draws);  // 95 %, three standard errors of 300 below it
}

TEST(C4Weights, ARowWithoutAnSdFailsItsCurveWithItsPlace) {
  Curve curve = draw(34, 1, Regime{"weights", C4Plateau::unnamed}).curve;
  for (CurveRow& row : curve.rows) row.sd = 0.3;
  curve.rows[3].sd.reset();
  curve.rows[3].place = {"points.csv", 5, 2, ""};
  const auto fit = fit_c4_curve(curve, weighted(C4Plateau::unnamed));
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().code, ErrorCode::unfit);
  EXPECT_EQ(fit.error().place.line, 5U);
}

}  // namespace
}  // namespace leafwright
