// Drift of gsw: slopes known by construction, order of time, the return to the first CO2, and what
// holding the first gsw would do to Ci.
#include "fit/drift.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace leafwright {
namespace {

CurveRow row_at(std::size_t number, double gsw, std::optional<double> seconds = {}) {
  CurveRow row;
  row.row = number;
  row.A = 10;
  row.Ci = 200;
  row.gsw = gsw;
  row.seconds = seconds;
  return row;
}

CurveFit using_all(const Curve& curve) {
  CurveFit fit;
  fit.curve_id = curve.curve_id;
  for (const CurveRow& row : curve.rows) fit.used.push_back(row.row);
  return fit;
}

TEST(GswDriftOfACurve, AStraightLineIsFoundWithoutError) {
  // 300 mmol m-2 s-1 at first, 10 less every quarter of an hour.
  Curve curve{"leaf", {}, {}};
  for (std::size_t i = 0; i < 9; ++i) {
    curve.rows.push_back(
        row_at(i, 300 - 10.0 * static_cast<double>(i), 900.0 * static_cast<double>(i)));
  }
  const auto d = gsw_drift(using_all(curve), curve, 0.1);
  ASSERT_TRUE(d);
  EXPECT_TRUE(d->timed);
  EXPECT_DOUBLE_EQ(d->span, 2);
  EXPECT_NEAR(d->slope, -40.0 / 260, 1e-12);
  EXPECT_NEAR(d->slope_se, 0, 1e-7);
  EXPECT_NEAR(d->change, -80.0 / 260, 1e-12);
  EXPECT_FALSE(d->steady);
  EXPECT_TRUE(gsw_drift(using_all(curve), curve, 0.31)->steady);
  EXPECT_EQ(d->first, 300);
  EXPECT_EQ(d->last, 220);
}

TEST(GswDriftOfACurve, TimeGoesBeforeTheOrderOfRows) {
  Curve curve{"leaf", {row_at(0, 220, 7200), row_at(1, 260, 3600), row_at(2, 300, 0)}, {}};
  EXPECT_EQ(gsw_drift(using_all(curve), curve, 0.1)->first, 300);
  curve.rows[1].seconds.reset();
  const auto d = gsw_drift(using_all(curve), curve, 0.1);
  EXPECT_FALSE(d->timed);
  EXPECT_EQ(d->first, 220);
  EXPECT_NEAR(d->slope, 40.0 / 260, 1e-12);  // per row
  EXPECT_EQ(d->span, 2);
}

TEST(GswDriftOfACurve, StandardErrorIsThatOfTheRegression) {
  // x = 0, 1, 2 h, gsw 100, 130, 100: slope 0, residuals -10, 20, -10, se = sqrt(600/1/2).
  const Curve curve{"leaf", {row_at(0, 100, 0), row_at(1, 130, 3600), row_at(2, 100, 7200)}, {}};
  const auto d = gsw_drift(using_all(curve), curve, 0.1);
  EXPECT_NEAR(d->slope, 0, 1e-15);
  EXPECT_NEAR(d->slope_se, std::sqrt(300.0) / 110, 1e-12);
  EXPECT_TRUE(d->steady);
}

TEST(GswDriftOfACurve, TheReturnToTheFirstCO2) {
  Curve curve{"leaf", {row_at(0, 300), row_at(1, 320), row_at(2, 240), row_at(3, 100)}, {}};
  EXPECT_FALSE(gsw_drift(using_all(curve), curve, 0.1)->again);
  curve.rows[0].CO2s = 400;
  curve.rows[1].CO2s = 405;
  curve.rows[2].CO2s = 415;
  curve.rows[3].CO2s = 1000;
  EXPECT_FALSE(gsw_drift(using_all(curve), curve, 0.1)->again) << "it never went elsewhere";
  curve.rows[1].CO2s = 100;
  curve.rows[2].CO2s = 415;
  curve.rows[3].CO2s = 1000;
  const auto d = gsw_drift(using_all(curve), curve, 0.1);
  EXPECT_EQ(d->again_row, 2U);
  EXPECT_NEAR(d->again.value(), -0.2, 1e-12);
}

TEST(GswDriftOfACurve, WhatItDoesToCi) {
  // Ca' = Ci + 1.6 A/gsw. Row 2: gsw 0.16, A 20: Ca' - Ci = 200; with 0.32 held it would be 100.
  Curve curve{"leaf", {row_at(0, 320), row_at(1, 320), row_at(2, 160)}, {}};
  curve.rows[2].A = 20;
  curve.rows[2].Ci = 250;
  const auto d = gsw_drift(using_all(curve), curve, 0.1);
  EXPECT_NEAR(d->Ci_shift, 100.0 / 250, 1e-12);
  EXPECT_EQ(d->Ci_shift_row, 2U);
  // 1 % of gsw moves Ci by 1 % of the drop of 200, to first order.
  EXPECT_NEAR(d->Ci_per_percent, 2, 1e-12);
  EXPECT_EQ(d->Ci_per_percent_row, 2U);
}

TEST(GswDriftOfACurve, RowsThatCannotTell) {
  Curve curve{"leaf", {row_at(0, 300), row_at(1, 0), row_at(2, 280), row_at(3, 260)}, {}};
  EXPECT_EQ(gsw_drift(using_all(curve), curve, 0.1)->rows, 3U);
  CurveFit fit = using_all(curve);
  fit.used = {0, 1, 2};
  EXPECT_FALSE(gsw_drift(fit, curve, 0.1));
}

TEST(GswDriftOfACurve, OnlyDriftIsNoted) {
  const Curve still{"still", {row_at(0, 300), row_at(1, 301), row_at(2, 299)}, {}};
  const Curve moving{"moving", {row_at(0, 300), row_at(1, 250), row_at(2, 200)}, {}};
  const std::vector<Curve> curves = {still, moving};
  CampaignFit campaign;
  campaign.fits = {using_all(still), using_all(moving)};
  find_gsw_drifts(campaign, curves, 0.1);
  EXPECT_TRUE(campaign.fits[0].gsw_drift && campaign.fits[0].notes.empty());
  ASSERT_EQ(campaign.fits[1].notes.size(), 1U);
  EXPECT_EQ(campaign.fits[1].notes[0].about, "gsw-drift");
  EXPECT_EQ(campaign.fits[1].notes[0].level, NoteLevel::info);
}

}  // namespace
}  // namespace leafwright
