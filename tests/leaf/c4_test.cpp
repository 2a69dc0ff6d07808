#include "leaf/c4.hpp"
#include "leaf/c4_spread.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

C4Kinetics kinetics(double alpha) {
  C4Kinetics k = *c4_kinetics_at(**find_c4_kinetics("boyd-2015"), 28, 97, Basis::partial_pressure);
  k.alpha = alpha;
  return k;
}

TEST(C4, DerivativesAgreeWithDifferences) {
  for (const double alpha : {0.0, 0.4}) {
    const C4Kinetics k = kinetics(alpha);
    const double Cm = 60, Vp = 40, V = 55, R = 1.1, J = 180, h = 1e-5;
    const auto enzyme = [&](double c, double p, double v, double r) {
      return c4_enzyme_limited(c, p, v, r, k).A;
    };
    const C4Partial e = c4_enzyme_limited(Cm, Vp, V, R, k);
    EXPECT_NEAR(e.by_supply, (enzyme(Cm, Vp + h, V, R) - enzyme(Cm, Vp - h, V, R)) / (2 * h), 1e-7);
    EXPECT_NEAR(e.by_capacity, (enzyme(Cm, Vp, V + h, R) - enzyme(Cm, Vp, V - h, R)) / (2 * h),
                1e-7);
    EXPECT_NEAR(e.by_Rday, (enzyme(Cm, Vp, V, R + h) - enzyme(Cm, Vp, V, R - h)) / (2 * h), 1e-7);
    EXPECT_NEAR(e.by_Cm, (enzyme(Cm + h, Vp, V, R) - enzyme(Cm - h, Vp, V, R)) / (2 * h), 1e-7);
    const auto light = [&](double c, double j, double r) { return c4_light_limited(c, j, r, k).A; };
    const C4Partial l = c4_light_limited(Cm, J, R, k);
    EXPECT_NEAR(l.by_supply, (light(Cm, J + h, R) - light(Cm, J - h, R)) / (2 * h), 1e-7);
    EXPECT_NEAR(l.by_Rday, (light(Cm, J, R + h) - light(Cm, J, R - h)) / (2 * h), 1e-7);
    EXPECT_NEAR(l.by_Cm, (light(Cm + h, J, R) - light(Cm - h, J, R)) / (2 * h), 1e-7);
  }
}

TEST(C4, InfiniteRubiscoIsTheLimitOfALargeOne) {
  for (const double alpha : {0.0, 0.4}) {
    const C4Kinetics k = kinetics(alpha);
    const double limit = c4_enzyme_limited(60, 40, infinity, 1.1, k).A;
    EXPECT_NEAR(c4_enzyme_limited(60, 40, 1e9, 1.1, k).A, limit, 1e-5);
    EXPECT_LT(c4_enzyme_limited(60, 40, 1e3, 1.1, k).A, limit);
  }
}

TEST(C4, LowestSideIsTaken) {
  const C4Kinetics k = kinetics(0);
  const C4Rate enzyme = c4_assimilation(10, {100, infinity, 60, 400, 0.5}, k);
  EXPECT_EQ(enzyme.limited_by, C4Side::enzyme);
  const C4Rate light = c4_assimilation(400, {100, infinity, 60, 80, 0.5}, k);
  EXPECT_EQ(light.limited_by, C4Side::light);
  EXPECT_DOUBLE_EQ(light.A, c4_light_limited(400, 80, 0.5, k).A);
  EXPECT_THROW(c4_assimilation(50, {infinity, infinity, 60, infinity, 0}, k), std::logic_error);
  EXPECT_THROW(c4_light_limited(50, infinity, 0, k), std::logic_error);
  EXPECT_THROW(c4_atp_factor(1), std::logic_error);
}

TEST(C4, ConstantsKeepTheirPressureOrTheirMoleFraction) {
  const C4KineticsSet& set = **find_c4_kinetics("boyd-2015");
  const C4Kinetics pressure = *c4_kinetics_at(set, 25, 70, Basis::partial_pressure);
  const C4Kinetics fraction = *c4_kinetics_at(set, 25, 70, Basis::mole_fraction);
  EXPECT_DOUBLE_EQ(pressure.Kp, 139);
  EXPECT_DOUBLE_EQ(fraction.Kp, 0.7 * 139);
  EXPECT_DOUBLE_EQ(pressure.O, 0.7 * 210);
  C4Overrides own;
  ASSERT_TRUE(set_c4_override(own, "Kp=200"));
  EXPECT_DOUBLE_EQ(c4_kinetics_at(set, 25, 70, Basis::partial_pressure, own)->Kp, 140);
}

TEST(C4, CompensationPointAndSlope) {
  const C4Kinetics k = kinetics(0);
  const C4Leaf leaf{100, infinity, 60, infinity, 0.8};
  const auto gamma = c4_compensation_point(leaf, k);
  ASSERT_TRUE(gamma);
  EXPECT_NEAR(c4_assimilation(*gamma, leaf, k).A, 0, 1e-10);
  EXPECT_NEAR(c4_slope(20, leaf, k),
              (c4_assimilation(20.001, leaf, k).A - c4_assimilation(19.999, leaf, k).A) / 0.002,
              1e-6);
  EXPECT_FALSE(c4_compensation_point({1, infinity, 1, infinity, 90}, k));
}

TEST(C4, ErrorsNameWhatIsKnown) {
  EXPECT_NE(find_c4_kinetics("bernacchi-2001").error().text().find("C3"), std::string::npos);
  EXPECT_EQ(find_c4_response("x").error().code, ErrorCode::usage);
  const C4KineticsSet& set = **find_c4_kinetics("boyd-2015");
  EXPECT_EQ(c4_kinetics_at(set, 80, 100, Basis::partial_pressure).error().code, ErrorCode::unfit);
  EXPECT_EQ(c4_kinetics_at(set, 25, 10, Basis::partial_pressure).error().code, ErrorCode::unfit);
  C4Overrides own;
  for (const char* wrong : {"Kp", "Kx=3", "Kp=-1", "Kp=many"}) {
    EXPECT_EQ(set_c4_override(own, wrong).error().code, ErrorCode::usage) << wrong;
  }
  ASSERT_TRUE(set_c4_override(own, "Kp=200"));
  EXPECT_FALSE(set_c4_override(own, "Kp=200"));
}

/// The two published responses of Vpmax, written out here anew with their constants.
TEST(C4ResponseSpread, IsTheRangeOfThePublishedSets) {
  const double R = 8.314462618, T = 308.15, T0 = 298.15;
  const double rise = std::exp(94.8e3 / (R * T0) * (1 - T0 / T));
  const double peak = std::exp(70.373e3 / (R * T0) * (1 - T0 / T)) *
                      (1 + std::exp((T0 * 376 - 117.91e3) / (R * T0))) /
                      (1 + std::exp((T * 376 - 117.91e3) / (R * T)));
  const C4ResponseSpread spread = c4_response_spread("Vpmax", 35);
  EXPECT_EQ(spread.sets, 2U);
  EXPECT_NEAR(spread.lowest, peak, 1e-9);
  EXPECT_NEAR(spread.highest, rise, 1e-9);
  EXPECT_EQ(spread.lowest_set, "massad-2007");
  EXPECT_EQ(c4_response_spread("J", 35).sets, 1U);
  EXPECT_EQ(c4_response_spread("plateau", 35).sets, 0U);
}

}  // namespace
}  // namespace leafwright
