// One-point Vcmax: the truth of simulated leaves where Rubisco limits, a lower bound of it where
// something else does, and what is refused.
#include "fit/one_point.hpp"

#include <gtest/gtest.h>

#include "leaf/c3.hpp"

namespace leafwright {
namespace {

OnePointOptions options_with(RdaySource rday) {
  OnePointOptions o;
  o.kinetics = *find_kinetics("bernacchi-2001");
  o.at25 = *find_response("bernacchi-2001");
  o.rday = rday;
  return o;
}

const RdaySource of_one{RdaySource::From::value, 1.0};
const RdaySource of_fraction{RdaySource::From::fraction, 0.015};

CurveRow row_at(double A, double Ci, double Tleaf = 25, std::optional<double> Qin = 1500) {
  CurveRow row;
  row.A = A;
  row.Ci = Ci;
  row.Tleaf = Tleaf;
  row.Patm = 100;
  row.Qin = Qin;
  return row;
}

OnePoint only(const std::vector<CurveRow>& rows, const OnePointOptions& o) {
  const Curve curve{"leaf", rows, {}};
  const auto run = one_points({&curve, 1}, o);
  EXPECT_TRUE(run.has_value());
  EXPECT_EQ(run->points.size(), 1U);
  return run->points.front();
}

/// A of a leaf with Vcmax 70, J 90, Rday 1 (RuBP limits from Ci 214) at 25 degC and 100 kPa.
double leaf_at(double Ci) {
  const auto k = kinetics_at(**find_kinetics("bernacchi-2001"), 25, 100, Basis::partial_pressure);
  return c3_assimilation(Ci, {70, 90, 1e9, 1}, *k).A;
}

TEST(OnePointVcmax, IsTheTruthWhereRubiscoLimitsAndALowerBoundElsewhere) {
  for (const double Ci : {80.0, 150.0, 190.0}) {
    const OnePoint p = only({row_at(leaf_at(Ci), Ci)}, options_with(of_one));
    EXPECT_NEAR(p.Vcmax.value(), 70, 1e-9);
    EXPECT_EQ(p.status, OnePointStatus::one_point);
    EXPECT_TRUE(p.why.empty());
  }
  for (const double Ci : {320.0, 500.0, 1200.0}) {
    const OnePoint p = only({row_at(leaf_at(Ci), Ci)}, options_with(of_one));
    EXPECT_LT(p.Vcmax.value(), 70);
    EXPECT_EQ(p.status, OnePointStatus::lower_bound);
  }
}

TEST(OnePointVcmax, BetweenTwentyAndThirtyPascalNothingIsPromised) {
  const OnePoint p = only({row_at(leaf_at(250), 250)}, options_with(of_one));
  EXPECT_EQ(p.status, OnePointStatus::perhaps_lower_bound);
  EXPECT_NE(p.why.front().find("25.0 Pa"), std::string::npos) << p.why.front();
  // The rule is of partial pressure: the same mole fraction high up is below 20 Pa.
  CurveRow high = row_at(10, 250);
  high.Patm = 70;
  EXPECT_EQ(only({high}, options_with(of_one)).status, OnePointStatus::one_point);
}

TEST(OnePointVcmax, ErrorOfAIsWhatPerASays) {
  for (const RdaySource& rday : {of_one, of_fraction}) {
    const OnePoint a = only({row_at(10, 150)}, options_with(rday));
    const OnePoint b = only({row_at(11, 150)}, options_with(rday));
    EXPECT_NEAR(*b.Vcmax - *a.Vcmax, a.per_A.value(), 1e-9);
  }
}

TEST(OnePointVcmax, WarmLeavesGetAValueAt25AndADoubt) {
  const OnePoint p = only({row_at(15, 180, 32)}, options_with(of_one));
  EXPECT_EQ(p.status, OnePointStatus::perhaps_lower_bound);
  // Bernacchi et al. 2001: Ha of Vcmax 65.33 kJ mol-1.
  EXPECT_NEAR(*p.Vcmax25 / *p.Vcmax, 1 / arrhenius(65.33, 32), 1e-12);
}

TEST(OnePointVcmax, LightThatWasStatedIsHeldAgainstQin) {
  OnePointOptions o = options_with(of_one);
  EXPECT_EQ(only({row_at(10, 150, 25, 500)}, o).status, OnePointStatus::one_point);
  o.saturating_light = 1200;
  EXPECT_EQ(only({row_at(10, 150, 25, 1199)}, o).status, OnePointStatus::lower_bound);
  EXPECT_EQ(only({row_at(10, 150, 25, 1200)}, o).status, OnePointStatus::one_point);
  EXPECT_EQ(only({row_at(10, 150, 25, {})}, o).status, OnePointStatus::perhaps_lower_bound);
}

TEST(OnePointVcmax, UnjudgedLightIsSaid) {
  const Curve curve{"leaf", {row_at(10, 150)}, {}};
  OnePointOptions o = options_with(of_fraction);
  const auto has = [&] {
    const auto run = one_points({&curve, 1}, o);
    for (const Note& note : run->notes) {
      if (note.about == "light-not-judged") return true;
    }
    return false;
  };
  EXPECT_TRUE(has());
  o.saturating_light = 1000;
  EXPECT_FALSE(has());
}

void expect_refused(const CurveRow& row, const RdaySource& rday, const std::string& why) {
  const OnePoint p = only({row}, options_with(rday));
  EXPECT_EQ(p.status, OnePointStatus::refused);
  EXPECT_FALSE(p.Vcmax || p.Vcmax25 || p.Rday) << why;
  ASSERT_EQ(p.why.size(), 1U);
  EXPECT_NE(p.why.front().find(why), std::string::npos) << p.why.front();
}

TEST(OnePointVcmax, WhatHasNoMeaningIsRefused) {
  expect_refused(row_at(0.5, 42.75), of_one, "Gamma*");  // Gamma* of the set at 25 degC
  expect_refused(row_at(-1, 60), of_one, "A + Rday is 0");
  expect_refused(row_at(-1, 60), of_fraction, "not above 0");
  expect_refused(row_at(1, 50), of_fraction, "takes up nothing");
  expect_refused(row_at(10, 150, 75), of_one, "75 degC");
  expect_refused(row_at(10, 150), {RdaySource::From::column, 0}, "no Rday");
  CurveRow negative = row_at(10, 150);
  negative.rday = -0.5;
  expect_refused(negative, {RdaySource::From::column, 0}, "change the sign");
}

TEST(OnePointVcmax, RowsMayHaveRespirationOfTheirOwn) {
  CurveRow a = row_at(10, 150), b = row_at(10, 150);
  a.rday = 0.5;
  b.rday = 2.5;
  const Curve curve{"survey", {a, b}, {}};
  const auto run = one_points({&curve, 1}, options_with({RdaySource::From::column, 0}));
  ASSERT_EQ(run->points.size(), 2U);
  EXPECT_NEAR(*run->points[1].Vcmax / *run->points[0].Vcmax, 12.5 / 10.5, 1e-12);
}

TEST(OnePointVcmax, RecordsOfOnePointAreAveragedAndACurveIsNot) {
  OnePointOptions o = options_with(of_one);
  o.mean_of_curve = true;
  const OnePoint p = only({row_at(10, 150), row_at(11, 152)}, o);
  EXPECT_EQ(p.rows, 2U);
  EXPECT_DOUBLE_EQ(p.A, 10.5);
  EXPECT_EQ(p.Vcmax, only({row_at(10.5, 151)}, options_with(of_one)).Vcmax);
  const OnePoint curve = only({row_at(10, 150), row_at(20, 400)}, o);
  EXPECT_EQ(curve.status, OnePointStatus::refused);
  EXPECT_NE(curve.why.front().find("150 to 400"), std::string::npos) << curve.why.front();
}

TEST(OnePointVcmax, UnusedRowsHaveNoValue) {
  CurveRow out = row_at(10, 150);
  out.use = false;
  const Curve curve{"leaf", {out, row_at(10, 150)}, {}};
  EXPECT_EQ(one_points({&curve, 1}, options_with(of_one))->points.size(), 1U);
}

// De Kauwe et al. 2016, abstract: RMSE 8.19 (r2 0.98) with Rday known, 17.1 (0.95) with 1.5 %.
TEST(OnePointVcmax, PublishedErrorsBelongToTheirForm) {
  EXPECT_EQ(published_error(of_one)->rmse, 8.19);
  EXPECT_EQ(published_error(of_one)->r2, 0.98);
  EXPECT_EQ(published_error(of_fraction)->rmse, 17.1);
  EXPECT_EQ(published_error(of_fraction)->r2, 0.95);
  EXPECT_FALSE(published_error({RdaySource::From::fraction, 0.02}));
}

TEST(OnePointSettings, RdayHasNoDefaultAndCannotBeFitted) {
  Settings settings(one_point_settings());
  const auto none = one_point_options(settings);
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, ErrorCode::usage);
  EXPECT_EQ(none.error().found, "no --rday given");
  ASSERT_TRUE(settings.set("rday", "free", SettingOrigin::option));
  const auto fitted = one_point_options(settings);
  ASSERT_FALSE(fitted);
  EXPECT_NE(fitted.error().hint.find("cannot tell"), std::string::npos);
  ASSERT_TRUE(settings.set("rday", "fraction:0.015", SettingOrigin::option));
  const auto good = one_point_options(settings);
  ASSERT_TRUE(good);
  EXPECT_EQ(good->rday.value, 0.015);
  EXPECT_EQ(good->kinetics->name, "bernacchi-2001");
}

}  // namespace
}  // namespace leafwright
