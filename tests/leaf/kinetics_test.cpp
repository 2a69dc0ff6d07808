#include "leaf/kinetics.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>
#include <string>

namespace leafwright {
namespace {

const KineticsSet& named(std::string_view name) {
  return **find_kinetics(name);
}

// By hand: Q = exp(Ha (1/T0 - 1/T)/R).
double grown(double at25, double Ha, double tleaf) {
  return at25 * std::exp(Ha * 1000 * (1 / 298.15 - 1 / (tleaf + 273.15)) / 8.314462618);
}

TEST(KineticsSets, AreNamedOnceAndCited) {
  std::set<std::string> names;
  for (const KineticsSet& set : kinetics_sets()) {
    EXPECT_TRUE(names.insert(std::string(set.name)).second) << set.name;
    EXPECT_FALSE(set.citation.empty());
    EXPECT_TRUE(set.standing.starts_with("looked up") || set.standing.starts_with("from memory"));
    ASSERT_TRUE(find_kinetics(set.name));
    EXPECT_EQ(*find_kinetics(set.name), &set);
  }
  EXPECT_EQ(names, (std::set<std::string>{"bernacchi-2001", "bernacchi-2002", "von-caemmerer-1994",
                                          "von-caemmerer-1994-gm-0.3"}));
}

TEST(KineticsSets, StateTheCarbonTheyAreFor) {
  EXPECT_EQ(named("bernacchi-2001").carbon_at, CarbonAt::Ci);
  EXPECT_EQ(named("bernacchi-2002").carbon_at, CarbonAt::Cc);
  EXPECT_EQ(named("von-caemmerer-1994").carbon_at, CarbonAt::Ci);
  EXPECT_EQ(named("von-caemmerer-1994-gm-0.3").carbon_at, CarbonAt::Cc);
}

TEST(FindKinetics, NamesTheKnownSets) {
  const auto found = find_kinetics("nobody-1999");
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().code, ErrorCode::usage);
  EXPECT_NE(found.error().found.find("nobody-1999"), std::string::npos);
  EXPECT_NE(found.error().expected.find("von-caemmerer-1994"), std::string::npos);
}

TEST(KineticsAt, FollowsTemperature) {
  const auto k = kinetics_at(named("bernacchi-2001"), 31, 101.325, Basis::partial_pressure);
  ASSERT_TRUE(k);
  EXPECT_NEAR(k->Kc, grown(404.9, 79.43, 31), 1e-9);
  EXPECT_NEAR(k->Ko, grown(278.4, 36.38, 31), 1e-9);
  EXPECT_NEAR(k->gamma_star, grown(42.75, 37.83, 31), 1e-10);
  EXPECT_EQ(k->O, 210);
  EXPECT_NEAR(k->Km, k->Kc + k->Kc * 210 / k->Ko, 1e-9);
}

TEST(KineticsAt, PartialPressuresStayAndGammaStarFollowsOxygen) {
  const auto sea = kinetics_at(named("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
  const auto high = kinetics_at(named("bernacchi-2001"), 25, 70, Basis::partial_pressure);
  ASSERT_TRUE(sea && high);
  // Kc and Ko in Pa and kPa are the same at both heights.
  EXPECT_NEAR(high->Kc * 70, sea->Kc * 101.325, 1e-9);
  EXPECT_NEAR(high->Ko * 70, sea->Ko * 101.325, 1e-9);
  // Gamma* in Pa is proportional to O2 in kPa.
  EXPECT_NEAR((high->gamma_star * 70) / (high->O * 70),
              (sea->gamma_star * 101.325) / (sea->O * 101.325), 1e-12);
  // Km in Pa = Kc (1 + O/Ko), all as pressures.
  const double Kc = 404.9 * 101.325, Ko = 278.4 * 101.325, O = 210 * 70;
  EXPECT_NEAR(high->Km, Kc * (1 + O / Ko) / 70, 1e-9);
}

TEST(KineticsAt, MoleFractionsStay) {
  for (const double patm : {30.0, 70.0, 101.325, 120.0}) {
    const auto k = kinetics_at(named("bernacchi-2001"), 25, patm, Basis::mole_fraction);
    ASSERT_TRUE(k);
    EXPECT_EQ(k->Kc, 404.9);
    EXPECT_EQ(k->Ko, 278.4);
    EXPECT_EQ(k->gamma_star, 42.75);
  }
}

TEST(KineticsAt, SetsInPressureUnitsHoldAtOneBar) {
  // 27.238 Pa, 16.582 kPa and 3.743 Pa at 21 kPa O2, at the pressure of sea level.
  const auto k = kinetics_at(named("bernacchi-2002"), 25, 101.325, Basis::partial_pressure);
  ASSERT_TRUE(k);
  EXPECT_NEAR(k->Kc * 101.325 / 1000, 27.238, 1e-12);    // Pa
  EXPECT_NEAR(k->Ko * 101.325 / 1000, 16.582, 1e-12);    // kPa
  EXPECT_NEAR(k->gamma_star / k->O * 21, 3.743, 1e-12);  // Pa per 21 kPa of O2
  const auto v = kinetics_at(named("von-caemmerer-1994"), 25, 100, Basis::partial_pressure);
  ASSERT_TRUE(v);
  EXPECT_DOUBLE_EQ(v->Kc, 404);  // ubar at 1 bar
}

TEST(KineticsAt, OverridesReplace) {
  KineticOverrides o;
  o.Kc = 500;
  o.gamma_star = 40;
  const auto k = kinetics_at(named("bernacchi-2001"), 30, 80, Basis::partial_pressure, o);
  ASSERT_TRUE(k);
  EXPECT_EQ(k->Kc, 500);
  EXPECT_EQ(k->gamma_star, 40);
  EXPECT_NEAR(k->Ko, grown(278.4, 36.38, 30) * 101.325 / 80, 1e-9);
  EXPECT_NEAR(k->Km, 500 * (1 + 210 / k->Ko), 1e-9);
}

TEST(KineticsAt, OxygenMovesGammaStarAndKm) {
  KineticOverrides o;
  o.O = 21;
  const auto k = kinetics_at(named("bernacchi-2001"), 25, 101.325, Basis::partial_pressure, o);
  ASSERT_TRUE(k);
  EXPECT_NEAR(k->gamma_star, 4.275, 1e-12);
  EXPECT_NEAR(k->Km, 404.9 * (1 + 21 / 278.4), 1e-9);
  o.gamma_star = 42.75;
  EXPECT_EQ(
      kinetics_at(named("bernacchi-2001"), 25, 101.325, Basis::partial_pressure, o)->gamma_star,
      42.75);
}

TEST(KineticsAt, GivenKmHidesWhatDidNotMakeIt) {
  KineticOverrides o;
  o.Km = 718.4;
  auto k = kinetics_at(named("bernacchi-2001"), 25, 101.325, Basis::partial_pressure, o);
  ASSERT_TRUE(k);
  EXPECT_EQ(k->Km, 718.4);
  EXPECT_TRUE(std::isnan(k->Kc));
  EXPECT_TRUE(std::isnan(k->Ko));
  EXPECT_EQ(k->gamma_star, 42.75);
  o.Kc = 400;
  k = kinetics_at(named("bernacchi-2001"), 25, 101.325, Basis::partial_pressure, o);
  EXPECT_EQ(k->Kc, 400);
  EXPECT_EQ(k->Km, 718.4);
}

TEST(KineticsAt, RefusesWhatNoLeafHas) {
  const KineticsSet& set = named("bernacchi-2001");
  const double nan = std::nan(""), infinite = std::numeric_limits<double>::infinity();
  for (const double t : {-10.1, 60.1, nan, infinite, -infinite}) {
    const auto k = kinetics_at(set, t, 101.325, Basis::partial_pressure);
    ASSERT_FALSE(k) << t;
    EXPECT_EQ(k.error().code, ErrorCode::unfit);
    EXPECT_NE(k.error().hint.find("Tleaf"), std::string::npos);
  }
  for (const double p : {29.9, 120.1, nan, infinite, 101325.0}) {
    const auto k = kinetics_at(set, 25, p, Basis::mole_fraction);
    ASSERT_FALSE(k) << p;
    EXPECT_EQ(k.error().code, ErrorCode::unfit);
    EXPECT_NE(k.error().hint.find("Patm"), std::string::npos);
  }
  for (const double value : {0.0, -1.0, nan, infinite}) {
    KineticOverrides o;
    o.Ko = value;
    EXPECT_FALSE(kinetics_at(set, 25, 100, Basis::mole_fraction, o)) << value;
  }
  for (const double t : {-10.0, 60.0})
    for (const double p : {30.0, 120.0})
      EXPECT_TRUE(kinetics_at(set, t, p, Basis::partial_pressure));
}

TEST(SetOverride, ReadsEverySymbol) {
  KineticOverrides o;
  EXPECT_TRUE(set_override(o, "Kc=404.9"));
  EXPECT_TRUE(set_override(o, "Ko=278.4"));
  EXPECT_TRUE(set_override(o, "O=2.1e2"));
  EXPECT_TRUE(set_override(o, "GammaStar=42.75"));
  EXPECT_TRUE(set_override(o, "Km=718.4"));
  EXPECT_EQ(o.Kc, 404.9);
  EXPECT_EQ(o.Ko, 278.4);
  EXPECT_EQ(o.O, 210);
  EXPECT_EQ(o.gamma_star, 42.75);
  EXPECT_EQ(o.Km, 718.4);
}

TEST(SetOverride, RefusesWhatItCannotMean) {
  for (const char* text : {"", "Kc", "=1", "Kz=1", "kc=1", "Kc=", "Kc=0", "Kc=-4", "Kc=nan",
                           "Kc=inf", "Kc=404,9", "Kc=404.9 ", "Kc= 404.9", "Kc=4 04", "Kc=1e999"}) {
    KineticOverrides o;
    const auto set = set_override(o, text);
    ASSERT_FALSE(set) << text;
    EXPECT_EQ(set.error().code, ErrorCode::usage) << text;
    EXPECT_FALSE(o.Kc) << text;
  }
}

TEST(SetOverride, RefusesASecondValue) {
  KineticOverrides o;
  ASSERT_TRUE(set_override(o, "Kc=404.9"));
  const auto again = set_override(o, "Kc=405");
  ASSERT_FALSE(again);
  EXPECT_NE(again.error().found.find("twice"), std::string::npos);
  EXPECT_EQ(o.Kc, 404.9);
}

TEST(CheckGmBasis, RefusesToCountTheMesophyllTwice) {
  const auto checked = check_gm_basis(named("bernacchi-2001"), true);
  ASSERT_FALSE(checked);
  EXPECT_EQ(checked.error().code, ErrorCode::refused);
  EXPECT_NE(checked.error().found.find("bernacchi-2001"), std::string::npos);
}

TEST(CheckGmBasis, WarnsOfAnApparentVcmax) {
  const auto checked = check_gm_basis(named("bernacchi-2002"), false);
  ASSERT_TRUE(checked);
  ASSERT_EQ(checked->size(), 1U);
  EXPECT_EQ(checked->front().level, NoteLevel::warning);
}

TEST(CheckGmBasis, IsSilentWhereBothBelongTogether) {
  EXPECT_TRUE(check_gm_basis(named("bernacchi-2001"), false)->empty());
  EXPECT_TRUE(check_gm_basis(named("bernacchi-2002"), true)->empty());
}

TEST(Names, AreWords) {
  EXPECT_STREQ(basis_name(Basis::partial_pressure), "partial-pressure");
  EXPECT_STREQ(basis_name(Basis::mole_fraction), "mole-fraction");
  EXPECT_STREQ(carbon_at_name(CarbonAt::Ci), "Ci");
  EXPECT_STREQ(carbon_at_name(CarbonAt::Cc), "Cc");
}

}  // namespace
}  // namespace leafwright
