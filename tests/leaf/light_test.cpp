#include "leaf/light.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "leaf/stomata.hpp"

namespace leafwright {
namespace {

TEST(Light, LimitsAreTheRectangularHyperbolaAndBlackman) {
  LightLeaf leaf{0.06, 30, 0, 1};
  EXPECT_NEAR(light_assimilation(500, leaf), 0.06 * 500 * 30 / (0.06 * 500 + 30) - 1, 1e-12);
  leaf.theta = 1;
  EXPECT_NEAR(light_assimilation(200, leaf), 0.06 * 200 - 1, 1e-9);
  EXPECT_NEAR(light_assimilation(2000, leaf), 30 - 1, 1e-9);
}

TEST(Light, CompensationPointAndSharesSolveTheEquation) {
  for (const double theta : {0.0, 0.3, 0.85, 0.99}) {
    const LightLeaf leaf{0.055, 28, theta, 1.7};
    EXPECT_NEAR(light_assimilation(*light_compensation_point(leaf), leaf), 0, 1e-10) << theta;
    for (const double share : {0.1, 0.5, 0.9}) {
      EXPECT_NEAR(light_assimilation(*light_for_share(share, leaf), leaf), share * 28 - 1.7, 1e-9);
    }
  }
}

TEST(Light, NoCompensationPointWhereRespirationIsNeverBalanced) {
  EXPECT_FALSE(light_compensation_point({0.05, 1.5, 0.7, 1.6}).has_value());
  EXPECT_FALSE(light_compensation_point({0, 20, 0.7, 1}).has_value());
}

TEST(Light, SlopeIsTheDerivative) {
  for (const double theta : {0.0, 0.5, 0.9}) {
    const LightLeaf leaf{0.05, 25, theta, 1};
    for (const double Q : {0.0, 100.0, 600.0, 1800.0}) {
      const double h = 1e-3;
      const double numeric =
          (light_assimilation(Q + h, leaf) - light_assimilation(std::max(0.0, Q - h), leaf)) /
          (Q > 0 ? 2 * h : h);
      EXPECT_NEAR(light_slope(Q, leaf), numeric, 1e-6) << theta << " " << Q;
    }
  }
}

// For A = s (Ci - c0), a straight demand curve, both definitions have a closed form.
TEST(Stomata, BothLimitationsOfAStraightDemandCurve) {
  const double slope = 0.1, origin = 50, gtc = 0.15, Ca = 400;
  const double Ci = (gtc * Ca + slope * origin) / (gtc + slope);
  const double by_rates = stomatal_limitation(slope * (Ci - origin), slope * (Ca - origin));
  EXPECT_NEAR(by_rates, slope / (slope + gtc), 1e-12);
  EXPECT_NEAR(stomatal_limitation_resistance(gtc, slope), by_rates, 1e-12);
}

}  // namespace
}  // namespace leafwright
