// Jmax from J and the light, and Rday from respiration in the dark.
#include "fit/jmax.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/setting.hpp"
#include "fit/pathway.hpp"
#include "support/coverage.hpp"
#include "support/plain_curve.hpp"

namespace leafwright {
namespace {

using plain::G, plain::Km, plain::infinity;

Curve made(double J, double Qin, double tleaf = 25) {
  Curve out = plain::made({60, J, infinity, 1.2}, 0.1);
  for (CurveRow& row : out.rows) {
    row.Tleaf = tleaf;
    row.Qin = Qin;
    row.rday = 1.6;
  }
  return out;
}

C3FitOptions options() {
  return plain::without_tpu();
}

C3FitOptions with_light() {
  C3FitOptions o = options();
  o.light = LightUse{0.85, 0.15, 0.7};
  return o;
}

CurveFit fitted(const Curve& curve, const C3FitOptions& o) {
  const auto fit = fit_curve(curve, o);
  EXPECT_TRUE(fit) << (fit ? "" : fit.error().text());
  return fit ? *fit : CurveFit{};
}

bool has_note(const CurveFit& fit, const std::string& about) {
  return std::any_of(fit.notes.begin(), fit.notes.end(),
                     [&](const Note& n) { return n.about == about; });
}

// --- Jmax ----------------------------------------------------------------------------------------

TEST(Jmax, IsTheInverseOfElectronTransportAndRisesWithJ) {
  for (const double theta : {0.0, 0.3, 0.7, 0.9, 1.0}) {
    for (const double I2 : {50.0, 400.0}) {
      double last = 0;
      for (const double Jmax : {5.0, 30.0, 60.0, 200.0, 900.0}) {
        const double J = electron_transport(I2, Jmax, theta);
        if (theta == 1 && Jmax >= I2) {
          EXPECT_EQ(jmax_from_transport(J, I2, theta), infinity);  // every Jmax above I2 gives I2
          continue;
        }
        const double back = jmax_from_transport(J, I2, theta);
        EXPECT_NEAR(back, Jmax, 1e-7 * Jmax) << theta << " " << I2;
        EXPECT_GT(back, last);
        last = back;
        const double h = 1e-5 * J;
        const double numeric =
            (jmax_from_transport(J + h, I2, theta) - jmax_from_transport(J - h, I2, theta)) /
            (2 * h);
        EXPECT_NEAR(jmax_slope(J, I2, theta), numeric, 1e-4 * numeric);
      }
    }
  }
}

TEST(Jmax, OfACurveIsThatOfItsJWithTheEndsOfItsInterval) {
  // EX15 of the reference: Q 1500, Jmax 200, theta 0.7 give J 174.968555.
  const CurveFit fit = fitted(made(174.968555, 1500), with_light());
  const Estimate& e = fit.more.back();
  ASSERT_EQ(e.symbol, "Jmax");
  EXPECT_EQ(e.status, Status::estimated);
  EXPECT_NEAR(*e.value, 200, 4);
  const double I2 = 0.36125 * 1500;
  EXPECT_NEAR(electron_transport(I2, *e.value, 0.7), *fit.J.value, 1e-9);
  EXPECT_NEAR(electron_transport(I2, *e.low, 0.7), *fit.J.low, 1e-9);
  EXPECT_NEAR(electron_transport(I2, *e.high, 0.7), *fit.J.high, 1e-9);
  EXPECT_GT(*e.se, *fit.J.se);
  EXPECT_NEAR(*fit.light->J_to_Jmax, *fit.J.value / *e.value, 1e-12);
  EXPECT_TRUE(has_note(fit, "ppfd-not-saturating"));
  EXPECT_FALSE(has_note(fit, "ppfd-varies"));
}

TEST(Jmax, ASaturatingLightIsSaid) {
  const CurveFit fit = fitted(made(60, 2500), with_light());
  EXPECT_TRUE(has_note(fit, "ppfd-saturating"));
  EXPECT_FALSE(has_note(fit, "ppfd-not-saturating"));
}

TEST(Jmax, JAboveWhatTheLightAllowsHasNone) {
  const CurveFit fit = fitted(made(120, 300), with_light());  // I2 = 108.4
  const Estimate& e = fit.more.back();
  EXPECT_EQ(e.status, Status::not_identified);
  EXPECT_FALSE(e.value || e.low || e.high);
  EXPECT_FALSE(fit.light->J_to_Jmax);
  EXPECT_TRUE(has_note(fit, "jmax-not-identified"));
}

TEST(Jmax, AnIntervalThatReachesTheLightIsOpenAbove) {
  const CurveFit fit = fitted(made(108, 300), with_light());
  const Estimate& e = fit.more.back();
  ASSERT_LT(*fit.J.low, 108.375);
  ASSERT_GT(*fit.J.high, 108.375);
  EXPECT_EQ(e.status, Status::lower_bound);
  EXPECT_NEAR(electron_transport(108.375, *e.low, 0.7), *fit.J.low, 1e-9);
  EXPECT_FALSE(e.value || e.high);
  EXPECT_TRUE(has_note(fit, "jmax-not-identified"));
}

TEST(Jmax, NeedsTheLightOfEveryUsedRow) {
  Curve curve = made(120, 1500);
  curve.rows[3].Qin.reset();
  const CurveFit fit = fitted(curve, with_light());
  EXPECT_EQ(fit.more.back().status, Status::not_identified);
  EXPECT_TRUE(has_note(fit, "jmax-no-ppfd"));
}

TEST(Jmax, LightThatVariesIsSaidAndTheRowsOfRubpCount) {
  Curve curve = made(120, 1500);
  for (std::size_t i = 0; i < 4; ++i) curve.rows[i].Qin = 1000;  // Rubisco limits these
  const CurveFit fit = fitted(curve, with_light());
  EXPECT_TRUE(has_note(fit, "ppfd-varies"));
  EXPECT_DOUBLE_EQ(*fit.light->ppfd, 1500);
}

TEST(Jmax, MovesTo25WithTheResponseOfJ) {
  C3FitOptions o = with_light();
  o.at25 = *find_response("bernacchi-2001");
  const CurveFit fit = fitted(made(120, 1500, 30), o);
  const auto at = std::find_if(fit.at25.begin(), fit.at25.end(),
                               [](const At25& a) { return a.symbol == "Jmax25"; });
  ASSERT_NE(at, fit.at25.end());
  EXPECT_NEAR(*at->value * arrhenius(43.54, 30), *fit.more.back().value, 1e-9);
}

TEST(Jmax, FollowsJWhereItsIntervalIsWidenedLater) {
  CurveFit fit = fitted(made(120, 1500), with_light());
  const std::size_t listed = fit.more.size();
  fit.J.low = *fit.J.low - 10;
  update_jmax(fit);
  EXPECT_EQ(fit.more.size(), listed);
  EXPECT_NEAR(electron_transport(0.36125 * 1500, *fit.more.back().low, 0.7), *fit.J.low, 1e-9);
}

// --- Rday from the dark --------------------------------------------------------------------------

Result<FitMethod> method(const std::vector<std::pair<std::string, std::string>>& given,
                         Pathway pathway = Pathway::c3) {
  Settings s(fit_settings());
  for (const auto& [name, value] : given) {
    EXPECT_TRUE(s.set(name, value, SettingOrigin::option)) << name;
  }
  return fit_method(pathway, s);
}

std::string refusal(const std::vector<std::pair<std::string, std::string>>& given) {
  const auto m = method(given);
  return m ? "accepted" : m.error().text();
}

TEST(DarkRday, TheShareThatLightInhibitsMustBeStated) {
  EXPECT_NE(refusal({{"rday", "dark:1.5"}}).find("without --rday-inhibition"), std::string::npos);
  EXPECT_NE(refusal({{"rday", "1.5"}, {"rday-inhibition", "0.3"}}).find("--rday-inhibition with"),
            std::string::npos);
  EXPECT_NE(refusal({{"rday", "dark:-1"}, {"rday-inhibition", "0.3"}}).find("change the sign"),
            std::string::npos);
  EXPECT_NE(refusal({{"rday", "dark:1"},
                     {"rday-inhibition", "0.3"},
                     {"rday-response", "x"},
                     {"rday-dark-temperature", "20"}})
                .find("'x'"),
            std::string::npos);
  EXPECT_NE(
      refusal({{"rday", "dark:1"}, {"rday-inhibition", "0.3"}, {"rday-response", "bernacchi-2001"}})
          .find("without --rday-dark-temperature"),
      std::string::npos);
  EXPECT_NE(refusal({{"rday", "dark:1"},
                     {"rday-inhibition", "0.3"},
                     {"rday-response", "walker-b-2013"},
                     {"rday-dark-temperature", "20"}})
                .find("does not treat Rday"),
            std::string::npos);
  EXPECT_EQ(refusal({{"rday", "dark:column:Rn"}, {"rday-inhibition", "0.3"}}), "accepted");
}

Result<CurveFit> fit_with(const Curve& curve,
                          std::vector<std::pair<std::string, std::string>> given) {
  const auto m = method(given);
  EXPECT_TRUE(m) << (m ? "" : m.error().text());
  return fit_curve(curve, std::get<C3FitOptions>(*m));
}

TEST(DarkRday, IsTheDarkValueLessWhatLightInhibits) {
  const auto fit = fit_with(made(120, 1500), {{"rday", "dark:2"}, {"rday-inhibition", "0.3"}});
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->Rday.status, Status::fixed);
  EXPECT_NEAR(*fit->Rday.value, 1.4, 1e-12);
  EXPECT_TRUE(has_note(*fit, "rday-from-dark"));
  const auto column =
      fit_with(made(120, 1500), {{"rday", "dark:column:Rn"}, {"rday-inhibition", "0.25"}});
  ASSERT_TRUE(column);
  EXPECT_NEAR(*column->Rday.value, 1.2, 1e-12);  // 1.6 in the column
}

TEST(DarkRday, AnotherTemperatureNeedsAResponseThatWasStated) {
  const Curve curve = made(120, 1500, 28);
  const std::vector<std::pair<std::string, std::string>> cold{
      {"rday", "dark:1"}, {"rday-inhibition", "0.4"}, {"rday-dark-temperature", "20"}};
  const auto none = fit_with(curve, cold);
  ASSERT_FALSE(none);  // the default of --at25 was not stated
  EXPECT_EQ(none.error().code, ErrorCode::unfit);
  for (const char* name : {"rday-response", "at25"}) {
    auto stated = cold;
    stated.emplace_back(name, "bernacchi-2001");
    const auto fit = fit_with(curve, stated);
    ASSERT_TRUE(fit);
    // Bernacchi et al. 2001: Ha of Rd 46.39 kJ mol-1.
    const double factor = arrhenius(46.39, 28) / arrhenius(46.39, 20);
    EXPECT_NEAR(*fit->Rday.value, 0.6 * factor, 1e-12);
    EXPECT_NEAR(fit->dark->factor, factor, 1e-12);
    EXPECT_EQ(fit->dark->response, "bernacchi-2001");
  }
}

TEST(DarkRday, TheSameTemperatureNeedsNone) {
  const auto fit =
      fit_with(made(120, 1500, 25.2),
               {{"rday", "dark:1"}, {"rday-inhibition", "0.4"}, {"rday-dark-temperature", "25"}});
  ASSERT_TRUE(fit);
  EXPECT_NEAR(*fit->Rday.value, 0.6, 1e-12);
  EXPECT_EQ(fit->dark->response, "");
}

TEST(DarkRday, C4LeavesHaveItToo) {
  const auto m = method({{"rday", "dark:1"}, {"rday-inhibition", "0.5"}}, Pathway::c4);
  ASSERT_TRUE(m) << (m ? "" : m.error().text());
  const auto fit = fit_c4_curve(made(120, 1500), std::get<C4FitOptions>(*m));
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->c4->Rday, 0.5, 1e-9);
  EXPECT_NEAR(fit->dark->dark, 1, 1e-12);
  EXPECT_FALSE(method({{"leaf-absorptance", "0.85"}, {"light-curvature", "0.7"}}, Pathway::c4));
}

TEST(Jmax, SettingsAskForBothConstants) {
  EXPECT_NE(refusal({{"leaf-absorptance", "0.85"}}).find("without --light-curvature"),
            std::string::npos);
  EXPECT_NE(refusal({{"light-curvature", "0.7"}}).find("without --leaf-absorptance"),
            std::string::npos);
  EXPECT_NE(refusal({{"light-loss", "0.1"}}), "accepted");
  const auto both = method({{"leaf-absorptance", "0.85"}, {"light-curvature", "0.7"}});
  ASSERT_TRUE(both);
  EXPECT_EQ(std::get<C3FitOptions>(*both).light->loss, 0.15);
}

}  // namespace
}  // namespace leafwright
