#include "leaf/response.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <stdexcept>
#include <string>

namespace leafwright {
namespace {

// The same response by another road: exp(c - Ha/RT) with c chosen to be 1 at 25 degC.
double arrhenius_by_c(double Ha, double tleaf) {
  const double c = Ha * 1000 / (gas_constant * 298.15);
  return std::exp(c - Ha * 1000 / (gas_constant * (tleaf + 273.15)));
}

// The share of enzyme still active, 1/(1 + K) with K = exp(-dG/RT), relative to 25 degC.
double active_share(double Hd, double dS, double kelvin) {
  const double dG = Hd * 1000 - kelvin * dS;
  return 1 / (1 + std::exp(-dG / (gas_constant * kelvin)));
}

TEST(Arrhenius, IsOneAt25AndAgreesWithTheOtherForm) {
  EXPECT_EQ(arrhenius(65.33, 25), 1.0);
  for (const double t : {-10.0, 0.0, 10.0, 24.0, 31.5, 45.0, 60.0})
    for (const double Ha : {23.4, 65.33, 80.99})
      EXPECT_NEAR(arrhenius(Ha, t) / arrhenius_by_c(Ha, t), 1.0, 1e-12) << t << " " << Ha;
}

TEST(Arrhenius, HasTheSlopeOfItsActivationEnergy) {
  // d ln k/d(1/T) = -Ha/R.
  const double T1 = 299.15, T2 = 310.15;
  const double slope =
      std::log(arrhenius(65.33, T2 - 273.15) / arrhenius(65.33, T1 - 273.15)) / (1 / T2 - 1 / T1);
  EXPECT_NEAR(slope, -65330 / gas_constant, 1e-7);
}

TEST(Peaked, IsArrheniusTimesTheActiveShare) {
  EXPECT_DOUBLE_EQ(peaked(65.33, 149.25, 485, 25), 1.0);
  for (const double t : {-10.0, 5.0, 20.0, 30.0, 38.0, 60.0}) {
    const double expected = arrhenius_by_c(65.33, t) * active_share(149.25, 485, t + 273.15) /
                            active_share(149.25, 485, 298.15);
    EXPECT_NEAR(peaked(65.33, 149.25, 485, t) / expected, 1.0, 1e-12) << t;
  }
}

TEST(Peaked, NearlyArrheniusFarBelowItsDeactivation) {
  EXPECT_NEAR(peaked(50, 200, 500, 10) / arrhenius(50, 10), 1.0, 1e-6);
}

TEST(PeakedOptimum, IsWhereNeighboursAreLower) {
  const double optimum = peaked_optimum(71.513, 200, 641.64);
  const double there = peaked(71.513, 200, 641.64, optimum);
  for (const double step : {1e-3, 0.1, 1.0}) {
    EXPECT_LT(peaked(71.513, 200, 641.64, optimum - step), there);
    EXPECT_LT(peaked(71.513, 200, 641.64, optimum + step), there);
  }
}

TEST(PeakedOptimum, RefusesAResponseWithoutPeak) {
  EXPECT_THROW(peaked_optimum(65, 0, 0), std::logic_error);
  EXPECT_THROW(peaked_optimum(65, 65, 485), std::logic_error);
  EXPECT_THROW(peaked_optimum(0, 200, 640), std::logic_error);
}

TEST(Response, WithoutHdIsArrhenius) {
  EXPECT_EQ((Response{46.39}.factor(33)), arrhenius(46.39, 33));
  EXPECT_EQ((Response{46.39, 150.65, 490}.factor(33)), peaked(46.39, 150.65, 490, 33));
}

TEST(ResponseSets, AreNamedOnceAndCited) {
  std::set<std::string> names;
  for (const ResponseSet& set : response_sets()) {
    EXPECT_TRUE(names.insert(std::string(set.name)).second) << set.name;
    EXPECT_FALSE(set.citation.empty()) << set.name;
    EXPECT_TRUE(set.standing.starts_with("looked up") || set.standing.starts_with("from memory"))
        << set.name;
    for (const Capacity c : {Capacity::Vcmax, Capacity::J, Capacity::TPU, Capacity::Rday})
      if (set.of(c)) {
        EXPECT_DOUBLE_EQ(set.of(c)->factor(25), 1.0) << set.name << " " << capacity_name(c);
      }
    ASSERT_TRUE(find_response(set.name));
    EXPECT_EQ(*find_response(set.name), &set);
  }
  EXPECT_EQ(names.size(), 12U);
}

TEST(ResponseSets, TreatOnlyWhatTheirSourceTreats) {
  const ResponseSet* set = *find_response("bernacchi-2001");
  EXPECT_TRUE(set->of(Capacity::Vcmax));
  EXPECT_TRUE(set->of(Capacity::J));
  EXPECT_TRUE(set->of(Capacity::Rday));
  EXPECT_FALSE(set->of(Capacity::TPU));
  EXPECT_TRUE((*find_response("sharkey-2007"))->of(Capacity::TPU));
  EXPECT_FALSE((*find_response("walker-b-2013"))->of(Capacity::J));
}

TEST(FindResponse, NamesTheKnownSets) {
  const auto found = find_response("bernachi-2001");
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().code, ErrorCode::usage);
  EXPECT_NE(found.error().text().find("bernachi-2001"), std::string::npos);
  EXPECT_NE(found.error().expected.find("bonan-2011"), std::string::npos);
}

TEST(FindResponse, AsksForTheGrowthTemperature) {
  const auto found = find_response("kattge-knorr-2007");
  ASSERT_FALSE(found);
  EXPECT_NE(found.error().hint.find("-tgNN"), std::string::npos);
}

TEST(KattgeKnorr, NamedSetsAreTheFunctionAtTheirTemperature) {
  for (const int t : {11, 15, 20, 25, 30, 35}) {
    const auto grown = kattge_knorr_2007(t);
    ASSERT_TRUE(grown);
    const auto set = find_response("kattge-knorr-2007-tg" + std::to_string(t));
    ASSERT_TRUE(set) << t;
    EXPECT_EQ((*set)->Vcmax->factor(33), grown->Vcmax.factor(33));
    EXPECT_EQ((*set)->J->factor(33), grown->J.factor(33));
  }
}

TEST(KattgeKnorr, WarmGrownLeavesPeakLater) {
  const auto cool = kattge_knorr_2007(12.5), warm = kattge_knorr_2007(28);
  ASSERT_TRUE(cool && warm);
  EXPECT_LT(peaked_optimum(cool->Vcmax.Ha, cool->Vcmax.Hd, cool->Vcmax.dS),
            peaked_optimum(warm->Vcmax.Ha, warm->Vcmax.Hd, warm->Vcmax.dS));
  EXPECT_GT(cool->J_to_Vcmax, warm->J_to_Vcmax);
}

TEST(KattgeKnorr, RefusesAGrowthTemperatureOutsideItsPlants) {
  for (const double t : {10.9, 35.1, std::nan("")}) {
    const auto grown = kattge_knorr_2007(t);
    ASSERT_FALSE(grown) << t;
    EXPECT_EQ(grown.error().code, ErrorCode::usage);
  }
  EXPECT_TRUE(kattge_knorr_2007(11));
  EXPECT_TRUE(kattge_knorr_2007(35));
}

}  // namespace
}  // namespace leafwright
