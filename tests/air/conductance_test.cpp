#include "air/conductance.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

BoundaryLayer layer(double gbw, double ratio, TwoSides two_sides = TwoSides::exact) {
  return {gbw, GbwIs::per_side, ratio, two_sides};
}

// Total conductance of two sides, written out resistance by resistance.
double in_parallel(double gsw, double gbw, double ratio, double stomata, double boundary) {
  const double first = gsw / (1 + ratio), second = gsw - first;
  double sum = 1 / (stomata / first + boundary / gbw);
  if (second > 0) sum += 1 / (stomata / second + boundary / gbw);
  return sum;
}

TEST(TwoSidesExact, InvertsTwoSidesInParallel) {
  for (const double ratio : {0.0, 0.1, 0.5, 1.0, 3.0})
    for (const double gbw : {200.0, 1000.0, 3000.0})
      for (const double gsw : {0.1, 5.0, 200.0, 1000.0, 20000.0}) {
        const double gtw = in_parallel(gsw, gbw, ratio, 1, 1);
        const auto back = stomatal_conductance(gtw, layer(gbw, ratio));
        ASSERT_TRUE(back);
        // Near the limit of the boundary layer gtw itself no longer tells gsw to full precision.
        const double lost = gsw > 10 * gbw ? 1e-10 : 1e-12;
        EXPECT_NEAR(*back / gsw, 1, lost) << ratio << " " << gbw << " " << gsw;
        EXPECT_NEAR(total_conductance(gsw, layer(gbw, ratio)) / gtw, 1, 1e-13);
        const double gtc = in_parallel(gsw, gbw, ratio, 1.6, 1.37);
        EXPECT_NEAR(co2_conductance(gsw, layer(gbw, ratio)) / gtc, 1, 1e-13);
        const double gbc = boundary_co2_conductance(gsw, layer(gbw, ratio));
        EXPECT_NEAR((1 / gbc + 1.6 / gsw) * gtc, 1, 1e-13);
      }
}

TEST(TwoSidesExact, LosesNoDigitsWhereOneSideIsSaturated) {
  // More than one side lets through, with hardly any stomata on the other: the plain root formula
  // loses half of its digits here.
  const BoundaryLayer about = layer(500, 1e-9);
  const auto gsw = stomatal_conductance(700, about);
  ASSERT_TRUE(gsw);
  EXPECT_NEAR(total_conductance(*gsw, about), 700, 1e-9);
}

TEST(TwoSidesExact, KAndItsInverseAreTheSameLeaf) {
  for (const double ratio : {0.2, 0.7}) {
    EXPECT_NEAR(*stomatal_conductance(300, layer(900, ratio)),
                *stomatal_conductance(300, layer(900, 1 / ratio)), 1e-10);
    EXPECT_NEAR(boundary_share(ratio), boundary_share(1 / ratio), 1e-15);
  }
  EXPECT_NEAR(*stomatal_conductance(300, layer(900, 0)),
              *stomatal_conductance(300, layer(900, infinity)), 1e-10);
}

TEST(FirstOrder, IsExactForOneSideAndForBothAlike) {
  for (const double ratio : {0.0, 1.0}) {
    const auto usual = layer(800, ratio, TwoSides::first_order);
    EXPECT_NEAR(*stomatal_conductance(250, usual), *stomatal_conductance(250, layer(800, ratio)),
                1e-10);
    EXPECT_NEAR(co2_conductance(250, usual), co2_conductance(250, layer(800, ratio)), 1e-10);
    EXPECT_NEAR(boundary_co2_conductance(250, usual),
                boundary_co2_conductance(250, layer(800, ratio)), 1e-9);
  }
}

TEST(FirstOrder, IsResistancesInSeriesWithKf) {
  const double ratio = 0.4, gbw = 2000, gsw = 300;
  const double kf = (ratio * ratio + 1) / ((ratio + 1) * (ratio + 1));
  const auto usual = layer(gbw, ratio, TwoSides::first_order);
  EXPECT_NEAR(boundary_share(ratio), kf, 1e-15);
  EXPECT_NEAR(*stomatal_conductance(1 / (1 / gsw + kf / gbw), usual), gsw, 1e-10);
  EXPECT_NEAR(total_conductance(gsw, usual), 1 / (1 / gsw + kf / gbw), 1e-10);
  EXPECT_NEAR(co2_conductance(gsw, usual), 1 / (1.6 / gsw + 1.37 * kf / gbw), 1e-10);
  EXPECT_NEAR(boundary_co2_conductance(gsw, usual), gbw / (1.37 * kf), 1e-9);
}

TEST(FirstOrder, ErrsInSecondOrderOtherwise) {
  // Doubling gsw/gbw makes the relative difference about four times as large.
  const auto difference = [](double gsw) {
    const double gtw = in_parallel(gsw, 3000, 0.4, 1, 1);
    return *stomatal_conductance(gtw, layer(3000, 0.4, TwoSides::first_order)) / gsw - 1;
  };
  EXPECT_NEAR(difference(20) / difference(10), 4, 0.05);
  EXPECT_NE(difference(10), 0);
}

TEST(WholeLeaf, IsOneLayerInSeries) {
  const BoundaryLayer one{1500, GbwIs::whole_leaf, 1, TwoSides::exact};
  const double gsw = 400, gtw = 1 / (1 / gsw + 1 / 1500.0);
  EXPECT_NEAR(*stomatal_conductance(gtw, one), gsw, 1e-10);
  EXPECT_NEAR(co2_conductance(gsw, one), 1 / (1.6 / gsw + 1.37 / 1500), 1e-10);
  // Both sides alike with half of it each are the same leaf.
  EXPECT_NEAR(*stomatal_conductance(gtw, layer(750, 1)), gsw, 1e-10);
}

TEST(StomatalConductance, HasNoAnswerBeyondTheBoundaryLayer) {
  EXPECT_FALSE(stomatal_conductance(1000, layer(500, 1)));
  EXPECT_FALSE(stomatal_conductance(500, layer(500, 0)));
  EXPECT_TRUE(stomatal_conductance(700, layer(500, 0.5)));
  EXPECT_FALSE(stomatal_conductance(1000, {900, GbwIs::whole_leaf, 1, TwoSides::exact}));
  EXPECT_FALSE(stomatal_conductance(1000, layer(500, 1, TwoSides::first_order)));
}

TEST(StomatalConductance, PassesThroughZeroSmoothly) {
  for (const TwoSides form : {TwoSides::exact, TwoSides::first_order}) {
    const auto about = layer(1000, 0.5, form);
    EXPECT_EQ(*stomatal_conductance(0, about), 0);
    EXPECT_NEAR(*stomatal_conductance(1e-3, about), 1e-3, 1e-8);
    EXPECT_NEAR(*stomatal_conductance(-1e-3, about), -1e-3, 1e-8);
  }
}

TEST(Names, GoBothWays) {
  for (const GbwIs is : {GbwIs::per_side, GbwIs::whole_leaf})
    EXPECT_EQ(*find_gbw_is(gbw_is_name(is)), is);
  for (const TwoSides two : {TwoSides::exact, TwoSides::first_order})
    EXPECT_EQ(*find_two_sides(two_sides_name(two)), two);
  EXPECT_EQ(find_gbw_is("both").error().code, ErrorCode::usage);
  EXPECT_EQ(find_two_sides("kf").error().code, ErrorCode::usage);
}

}  // namespace
}  // namespace leafwright
