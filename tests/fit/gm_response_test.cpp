// A stated temperature response of mesophyll conductance.
#include "fit/gm_response.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/setting.hpp"
#include "fit/fitted.hpp"
#include "fit/pathway.hpp"

namespace leafwright {
namespace {

constexpr double R = 8.314462618;  // J mol-1 K-1
constexpr double Ha = 49.6;        // kJ mol-1
const C3Leaf truth{90, 150, 1e9, 1.1};

/// Relative to 25 degC: Medlyn et al. 2002, eq. 16.
double factor_at(double tleaf) {
  return std::exp(Ha * 1000 / (R * 298.15) * (1 - 298.15 / (tleaf + 273.15)));
}

/// A curve without noise whose leaf has `gm` at its own temperature.
Curve made(double tleaf, double gm) {
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2002"), tleaf, 100, Basis::partial_pressure);
  Curve out;
  out.curve_id = "made";
  for (const double ci : {50., 80., 120., 180., 250., 340., 450., 600., 800., 1050., 1400.}) {
    CurveRow row;
    row.row = out.rows.size();
    row.Ci = ci;
    row.A = c3_assimilation_gm(ci, gm, truth, k).A;
    row.Tleaf = tleaf;
    row.Patm = 100;
    out.rows.push_back(row);
  }
  return out;
}

C3FitOptions options() {
  C3FitOptions o;
  o.kinetics = *find_kinetics("bernacchi-2002");
  o.limitations = LimitationSet{true, true, false};
  o.budget = false;
  return o;
}

TEST(GmResponse, AHeldGmIsMovedFrom25ToTheCurvesTemperature) {
  for (const double tleaf : {15.0, 25.0, 32.0}) {
    C3FitOptions o = options();
    o.gm = 0.2;
    o.gm_response = *parse_gm_response("arrhenius:49.6");
    const auto fit = fit_curve(made(tleaf, 0.2 * factor_at(tleaf)), o);
    ASSERT_TRUE(fit) << fit.error().text();
    EXPECT_NEAR(fit->gm.value(), 0.2 * factor_at(tleaf), 1e-9);
    EXPECT_NEAR(fit->Vcmax.value.value(), truth.Vcmax, 1e-4 * truth.Vcmax) << tleaf;
    EXPECT_NEAR(fit->J.value.value(), truth.J, 1e-4 * truth.J) << tleaf;
    EXPECT_TRUE(std::any_of(fit->notes.begin(), fit->notes.end(),
                            [](const Note& n) { return n.about == "gm-response"; }));
    // Taken as that of the leaf's temperature, the same number gives another Vcmax.
    o.gm_response.reset();
    const auto other = fit_curve(made(tleaf, 0.2 * factor_at(tleaf)), o);
    ASSERT_TRUE(other);
    const double off = std::abs(*other->Vcmax.value - truth.Vcmax);
    EXPECT_TRUE(tleaf == 25 ? off < 0.01 : off > 1) << tleaf << ": " << off;
  }
}

TEST(GmResponse, AFittedGmIsAlsoGivenAt25) {
  C3FitOptions o = options();
  o.gm_free = true;
  o.gm_response = *parse_gm_response("arrhenius:49.6");
  Curve curve = made(32, 0.2 * factor_at(32));
  for (std::size_t i = 0; i < curve.rows.size(); ++i) curve.rows[i].A += i % 2 == 0 ? 0.02 : -0.02;
  const auto fit = fit_curve(curve, o);
  ASSERT_TRUE(fit) << fit.error().text();
  const Estimate* gm = find_estimate(*fit, "gm");
  ASSERT_NE(gm, nullptr);
  const auto moved = std::find_if(fit->at25.begin(), fit->at25.end(),
                                  [](const At25& a) { return a.symbol == "gm25"; });
  ASSERT_NE(moved, fit->at25.end());
  EXPECT_NEAR(moved->value.value(), gm->value.value() / factor_at(32), 1e-9);
  EXPECT_NEAR(moved->low.value(), gm->low.value() / factor_at(32), 1e-9);
  EXPECT_NEAR(moved->value.value(), 0.2, 0.02);
}

TEST(GmResponse, ThePeakedFormIsOneAt25) {
  const auto peaked = parse_gm_response("peaked:49.6,437.4,1400");
  ASSERT_TRUE(peaked);
  EXPECT_NEAR(peaked->factor(25), 1, 1e-12);
  EXPECT_GT(peaked->factor(30), 1.2);
  EXPECT_LT(peaked->factor(45), peaked->factor(36));
}

TEST(GmResponse, OtherTextsAreRefused) {
  for (const char* text :
       {"", "arrhenius", "arrhenius:", "arrhenius:x", "arrhenius:-1", "arrhenius:49600",
        "arrhenius:1,2", "peaked:49.6", "peaked:60,50,650", "peaked:50,200,0",
        "peaked:49.6,437.4,1.4", "peaked:49.6,437.4,14000", "linear:2", "49.6"}) {
    const auto response = parse_gm_response(text);
    ASSERT_FALSE(response) << text;
    EXPECT_EQ(response.error().code, ErrorCode::usage);
    EXPECT_NE(response.error().text().find("arrhenius:HA"), std::string::npos);
  }
}

TEST(GmResponse, NeedsAFiniteGm) {
  Settings s(fit_settings());
  ASSERT_TRUE(s.set("gm-response", "arrhenius:49.6", SettingOrigin::option));
  const auto without = fit_options(s);
  ASSERT_FALSE(without);
  EXPECT_NE(without.error().text().find("infinite gm"), std::string::npos);
  ASSERT_TRUE(s.set("kinetics", "bernacchi-2002", SettingOrigin::option));
  ASSERT_TRUE(s.set("gm", "0.2", SettingOrigin::option));
  const auto with = fit_options(s);
  ASSERT_TRUE(with) << with.error().text();
  ASSERT_TRUE(with->gm_response);
  EXPECT_EQ(with->gm_response->Ha, 49.6);
}

}  // namespace
}  // namespace leafwright
