// The operating point: the worked example, closed forms where Rubisco limits, C4 and finite gm, and
// what is missing.
#include "fit/operating.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fit/fitted.hpp"
#include "fit/pathway.hpp"
#include "leaf/c4.hpp"

namespace leafwright {
namespace {

Kinetics bernacchi_at_25() {
  return *kinetics_at(**find_kinetics("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
}

/// A fit of that leaf, as if it had been fitted exactly, with the rows of `curve` used.
CurveFit fit_of(const C3Leaf& leaf, const Curve& curve) {
  CurveFit fit;
  fit.curve_id = curve.curve_id;
  fit.kinetics = bernacchi_at_25();
  fit.leaf = leaf;
  for (Estimate* e : {&fit.Vcmax, &fit.J, &fit.TPU}) e->status = Status::estimated;
  fit.Tleaf = 25;
  fit.Patm = 101.325;
  for (const CurveRow& row : curve.rows) {
    fit.used.push_back(row.row);
    FittedRow fitted;
    fitted.row = row.row;
    fitted.Ci = row.Ci;
    fitted.A = row.A;
    fit.rows.push_back(fitted);
  }
  fit.points = fit.rows.size();
  return fit;
}

/// Rows of a leaf whose way in has the conductance `g`, at each CO2 outside; gsw with 1.6.
Curve supplied(const C3Leaf& leaf, double g, const std::vector<double>& CO2) {
  Curve curve{"leaf", {}, {}};
  for (const double outside : CO2) {
    double low = 1, high = outside;
    for (int i = 0; i < 100; ++i) {
      const double Ci = 0.5 * (low + high);
      const double A = c3_assimilation(Ci, leaf, bernacchi_at_25()).A;
      (A < g * (outside - Ci) ? low : high) = Ci;
    }
    CurveRow row;
    row.row = curve.rows.size();
    row.place.line = row.row + 2;
    row.Ci = low;
    row.A = g * (outside - low);
    row.Tleaf = 25;
    row.Patm = 101.325;
    row.CO2s = outside;
    row.gsw = 1600 * g;
    curve.rows.push_back(row);
  }
  return curve;
}

const C3Leaf of_ex13{80, 150, 10, 1.2};

// EX18 of tests/published/data/reference/10_worked_examples.csv: A(280) = 17.96552, A(400) =
// 24.54032, l = 0.267918 (Farquhar & Sharkey 1982, constructed).
TEST(OperatingPoint, WorkedExample) {
  const Curve curve{"leaf", {}, {}};
  const OperatingPoint p = operating_point(fit_of(of_ex13, curve), curve, {400, 280, 0.1});
  EXPECT_NEAR(p.A.value(), 17.96552, 1e-5);
  EXPECT_NEAR(p.A_out.value(), 24.54032, 1e-5);
  EXPECT_NEAR(p.limitation.value(), 0.267918, 1e-6);
  EXPECT_TRUE(p.ci_given);
  EXPECT_FALSE(p.WUEi);
  ASSERT_EQ(p.missing.size(), 1U);
  EXPECT_EQ(p.missing[0], "no gsw column: no A/gsw");
}

TEST(OperatingPoint, RubiscoHasAClosedForm) {
  // dA/dCi = Vcmax (Km + G*)/(Ci + Km)^2
  const Curve curve = supplied(of_ex13, 0.15, {100, 200, 300, 410});
  const CurveFit fit = fit_of(of_ex13, curve);
  const OperatingPoint p = operating_point(fit, curve, {400, {}, 0.1});
  EXPECT_NEAR(p.conductance.value(), 0.15, 1e-9);
  EXPECT_EQ(p.rows, std::vector<std::size_t>{3});
  EXPECT_EQ(p.lines, std::vector<std::size_t>{5});
  const double Ci = p.Ci.value(), A = p.A.value();
  EXPECT_NEAR(A, 0.15 * (400 - Ci), 1e-9);  // on the supply line, and on the curve:
  EXPECT_NEAR(A, c3_assimilation(Ci, of_ex13, fit.kinetics).A, 1e-9);
  const double Km = fit.kinetics.Km, slope = 80 * (Km + 42.75) / std::pow(Ci + Km, 2);
  EXPECT_NEAR(p.slope.value(), slope, 1e-7);
  EXPECT_NEAR(p.relative.value(), (1 / 0.15) / (1 / 0.15 + 1 / slope), 1e-7);
  EXPECT_NEAR(p.WUEi.value(), A / 0.24, 1e-6);  // gsw = 1.6 x 0.15 mol m-2 s-1
  EXPECT_TRUE(p.missing.empty());
}

TEST(OperatingPoint, WithoutCO2sTheConductanceToVapourTellsIt) {
  Curve curve = supplied(of_ex13, 0.15, {100, 200, 300, 400});
  const CurveFit fit = fit_of(of_ex13, curve);
  const OperatingPoint with = operating_point(fit, curve, {400, {}, 0.1});
  for (CurveRow& row : curve.rows) row.CO2s.reset();
  CampaignFit campaign;
  campaign.fits = {fit};
  find_operating_points(campaign, {&curve, 1}, {400, {}, 0.1});
  const CurveFit& without = campaign.fits[0];
  EXPECT_NEAR(without.operating->Ci.value(), with.Ci.value(), 1e-6);
  ASSERT_EQ(without.notes.size(), 2U);  // beyond the rows, and how CO2 outside was taken
  EXPECT_EQ(without.notes[0].about, "operating-beyond");
  EXPECT_EQ(without.notes[1].about, "operating-no-co2s");
}

TEST(OperatingPoint, WhatIsMissingIsSaid) {
  Curve curve = supplied(of_ex13, 0.15, {100, 200, 300});
  const CurveFit fit = fit_of(of_ex13, curve);
  const OperatingPoint far = operating_point(fit, curve, {400, {}, 0.1});
  EXPECT_FALSE(far.Ci || far.limitation || far.relative);
  ASSERT_EQ(far.missing.size(), 1U);
  EXPECT_NE(far.missing[0].find("the nearest is row 2 at 300"), std::string::npos);
  EXPECT_TRUE(operating_point(fit, curve, {400, {}, 0.3}).Ci);
  for (CurveRow& row : curve.rows) row.gsw.reset();
  const OperatingPoint dry = operating_point(fit, curve, {300, {}, 0.1});
  EXPECT_TRUE(dry.limitation && dry.relative);
  EXPECT_FALSE(dry.WUEi);
  ASSERT_EQ(dry.missing.size(), 1U);
  EXPECT_EQ(dry.missing[0], "no gsw column: no A/gsw");
  for (CurveRow& row : curve.rows) row.CO2s.reset();
  const OperatingPoint none = operating_point(fit, curve, {300, {}, 0.1});
  EXPECT_FALSE(none.Ci);
  ASSERT_EQ(none.missing.size(), 1U);
  EXPECT_NE(none.missing[0].find("no CO2s and no gsw"), std::string::npos) << none.missing[0];
}

TEST(OperatingPoint, RowsThatDisagreeAreTold) {
  Curve curve = supplied(of_ex13, 0.15, {390, 100, 800});
  const Curve later = supplied(of_ex13, 0.25, {410});
  curve.rows.push_back(later.rows[0]);
  curve.rows.back().row = 3;
  CampaignFit campaign;
  campaign.fits = {fit_of(of_ex13, curve)};
  std::sort(campaign.fits[0].rows.begin(), campaign.fits[0].rows.end(),
            [](const FittedRow& a, const FittedRow& b) { return a.Ci < b.Ci; });
  find_operating_points(campaign, {&curve, 1}, {400, {}, 0.1});
  const CurveFit& fit = campaign.fits[0];
  EXPECT_EQ(fit.operating->rows, (std::vector<std::size_t>{0, 3}));
  EXPECT_NEAR(fit.operating->conductance.value(), 0.2, 1e-9);
  ASSERT_EQ(fit.notes.size(), 1U);
  EXPECT_EQ(fit.notes[0].about, "operating-rows-unlike");
}

TEST(OperatingPoint, AtABendBothSidesAreToldAndAPlateauIsFree) {
  const Kinetics k = bernacchi_at_25();
  const Curve curve{"leaf", {}, {}};
  // Rubisco hands over to RuBP where (4 C + 8 G*)/(C + Km) = J/Vcmax.
  const double rho = 120.0 / 80, bend = (rho * k.Km - 8 * k.gamma_star) / (4 - rho);
  const OperatingPoint p =
      operating_point(fit_of({80, 120, 1e9, 1}, curve), curve, {900, bend, 0.1});
  EXPECT_FALSE(p.relative);
  EXPECT_NE(p.missing[0].find("bends"), std::string::npos) << p.missing[0];
  EXPECT_TRUE(p.limitation);
  // TPU without glycolate: A = 3 TPU - Rday at every Ci, so conductance costs nothing.
  const OperatingPoint flat =
      operating_point(fit_of({80, 120, 5, 1}, curve), curve, {900, 700, 0.1});
  EXPECT_NEAR(flat.limitation.value(), 0, 1e-12);
  EXPECT_EQ(flat.relative.value(), 0);
  CurveFit falling = fit_of({80, 120, 5, 1}, curve);
  falling.alpha = 0.5;
  const OperatingPoint fall = operating_point(falling, curve, {900, 700, 0.1});
  EXPECT_FALSE(fall.relative);
  EXPECT_LT(fall.limitation.value(), 0);
}

TEST(OperatingPoint, WhatTheRowsDoNotTellIsNoNumber) {
  const Curve curve{"leaf", {}, {}};
  CurveFit fit = fit_of({80, 120, 1e9, 1}, curve);  // RuBP limits from Ci 290 on
  fit.J.symbol = "J";
  fit.J.status = Status::lower_bound;
  const OperatingPoint p = operating_point(fit, curve, {400, 250, 0.1});
  EXPECT_TRUE(p.A && p.relative);
  EXPECT_FALSE(p.A_out || p.limitation);
  EXPECT_NE(p.missing[0].find("A at Ci 400 rests on J, of which the rows give only a lower bound"),
            std::string::npos)
      << p.missing[0];
  fit.J.status = Status::not_identified;
  const OperatingPoint high = operating_point(fit, curve, {600, 450, 0.1});
  EXPECT_FALSE(high.A || high.limitation || high.relative || high.WUEi);
}

TEST(OperatingPoint, FiniteGmAndC4AskTheirOwnCurves) {
  const Curve curve{"leaf", {}, {}};
  CurveFit gm = fit_of(of_ex13, curve);
  gm.gm = 0.2;
  const OperatingPoint p = operating_point(gm, curve, {400, 280, 0.1});
  const auto A = [&](double Ci) { return c3_assimilation_gm(Ci, 0.2, of_ex13, gm.kinetics).A; };
  EXPECT_NEAR(p.limitation.value(), 1 - A(280) / A(400), 1e-12);
  EXPECT_NE(p.limitation.value(),
            operating_point(fit_of(of_ex13, curve), curve, {400, 280, 0.1}).limitation);
  // A C4 leaf on its plateau: nothing to gain from open stomata.
  CurveFit c4;
  c4.pathway = "C4";
  C4Fitted fitted;
  fitted.kinetics.Kp = 80;
  fitted.kinetics.gbs = 0.003;
  fitted.kinetics.rm_share = 0.5;
  fitted.Vpmax = 120;
  fitted.top = 40;
  fitted.Rday = 1;
  c4.c4 = fitted;
  EXPECT_NEAR(operating_point(c4, curve, {400, 200, 0.1}).limitation.value(), 0, 1e-12);
  // On the initial slope: A = Vpmax C/(C + Kp) + gbs C - Rday/2.
  const OperatingPoint low = operating_point(c4, curve, {400, 30, 0.1});
  const double here = 120 * 30 / 110.0 + 0.09 - 0.5;
  EXPECT_NEAR(low.A.value(), here, 1e-12);
  EXPECT_NEAR(low.limitation.value(), 1 - here / 39, 1e-12);
  EXPECT_NEAR(low.slope.value(), 120 * 80 / (110.0 * 110) + 0.003, 1e-6);
}

TEST(OperatingSettings, CiNeedsTheCO2Outside) {
  Settings settings(stomata_settings());
  EXPECT_FALSE(operating_choice(settings)->CO2);
  ASSERT_TRUE(settings.set("operating-ci", "280", SettingOrigin::option));
  const auto alone = operating_choice(settings);
  ASSERT_FALSE(alone);
  EXPECT_EQ(alone.error().code, ErrorCode::usage);
  ASSERT_TRUE(settings.set("operating-co2", "250", SettingOrigin::option));
  EXPECT_FALSE(operating_choice(settings));
  ASSERT_TRUE(settings.set("operating-co2", "400", SettingOrigin::option));
  const auto both = operating_choice(settings);
  ASSERT_TRUE(both);
  EXPECT_EQ(both->CO2, 400);
  EXPECT_EQ(both->Ci, 280);
  EXPECT_DOUBLE_EQ(both->window, 0.1);
}

}  // namespace
}  // namespace leafwright
