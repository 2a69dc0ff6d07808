// Local curves and simultaneous bands.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.hpp"
#include "stats/band.hpp"
#include "stats/local_curve.hpp"

namespace leafwright {
namespace {

TEST(LocalCurve, StraightLinesBetweenFarRows) {
  const std::vector<RowPoint> rows = {{400, 20}, {100, 5}, {200, 10}};
  const LocalCurve curve(rows, {40, 6});
  EXPECT_EQ(curve.low(), 100);
  EXPECT_EQ(curve.high(), 400);
  EXPECT_DOUBLE_EQ(*curve.at(150), 7.5);
  EXPECT_DOUBLE_EQ(*curve.at(300), 15);
  EXPECT_DOUBLE_EQ(*curve.at(100), 5);
  EXPECT_DOUBLE_EQ(*curve.at(400), 20);
  EXPECT_FALSE(curve.at(99.9) || curve.at(400.1)) << "never beyond the rows";
}

TEST(LocalCurve, RowsAtOneCiAreAveraged) {
  const std::vector<RowPoint> rows = {{100, 4}, {100, 6}, {200, 10}};
  const LocalCurve curve(rows, {0, 6});
  EXPECT_DOUBLE_EQ(*curve.at(100), 5);
  EXPECT_DOUBLE_EQ(*curve.at(150), 7.5);
}

TEST(LocalCurve, ALineIsReproducedAndNoiseAveraged) {
  std::vector<RowPoint> rows;
  for (int i = 0; i <= 200; ++i) rows.push_back({50.0 + 2 * i, 1 + 0.03 * (50.0 + 2 * i)});
  const LocalCurve curve(rows, {40, 6});
  for (const double x : {50.0, 61.3, 200.0, 449.0}) {
    EXPECT_NEAR(*curve.at(x), 1 + 0.03 * x, 1e-10);
    double sum = 0, squares = 0;
    for (const RowWeight& w : curve.weights(x)) sum += w.weight, squares += w.weight * w.weight;
    EXPECT_NEAR(sum, 1, 1e-12);
    if (x == 200.0) {
      EXPECT_NEAR(squares, 1 / 21.0, 1e-12);
    }
  }
  EXPECT_THROW(LocalCurve(std::span(rows).first(1), {}), std::logic_error);
}

using Units = std::vector<std::vector<double>>;

/// Smooth random curves around 0: a level, a slope and a wave.
Units random_units(std::size_t n, std::uint32_t replicate) {
  constexpr int places = 25;
  RandomStream draw(31, std::to_string(n), "band-coverage", replicate);
  Units units(n, std::vector<double>(places));
  for (auto& unit : units) {
    const double a = draw.normal(), b = draw.normal(), c = draw.normal();
    for (int k = 0; k < places; ++k) {
      const double x = k / (places - 1.0);
      unit[static_cast<std::size_t>(k)] = a + 2 * b * (x - 0.5) + c * std::sin(6.283185307 * x);
    }
  }
  return units;
}

// 300 draws: a standard error of 1.3 %. The limits for one place alone hold the whole curve in 79
// to 83 % (docs/validation-agreement.md), so this check can fail.
TEST(Band, HoldsTheWholeCurve) {
  for (const std::size_t n : {6U, 10U}) {
    int held = 0, pointwise = 0;
    constexpr std::uint32_t draws = 300;
    for (std::uint32_t r = 0; r < draws; ++r) {
      const auto band = mean_band(random_units(n, r), 199, 1, "test");
      ASSERT_TRUE(band.has_value());
      bool inside = true, each = true;
      for (std::size_t k = 0; k < band->mean.size(); ++k) {
        inside = inside && band->low[k] <= 0 && 0 <= band->high[k];
        each = each && std::abs(band->mean[k]) <= band->pointwise * band->se[k];
      }
      held += inside ? 1 : 0;
      pointwise += each ? 1 : 0;
    }
    EXPECT_NEAR(held / static_cast<double>(draws), 0.95, 0.039) << n;
    EXPECT_LT(pointwise / static_cast<double>(draws), 0.88) << n;
  }
}

TEST(Band, OnePlaceIsStudentsT) {
  Units units;
  for (const double v : {0.3, -0.2, 0.5, 0.1, 0.9, -0.4}) units.push_back({v});
  const auto band = mean_band(units, 8000, 1, "one");
  EXPECT_NEAR(band->critical, band->pointwise, 0.1);
}

TEST(Band, SameSeedSameBandAndTooFewHaveNone) {
  const Units units = random_units(6, 1);
  EXPECT_EQ(mean_band(units, 200, 5, "x")->critical, mean_band(units, 200, 5, "x")->critical);
  EXPECT_NE(mean_band(units, 200, 5, "x")->critical, mean_band(units, 200, 6, "x")->critical);
  EXPECT_NE(mean_band(units, 200, 5, "x")->critical, mean_band(units, 200, 5, "y")->critical);
  EXPECT_FALSE(mean_band(random_units(3, 1), 200, 5, "x"));
}

}  // namespace
}  // namespace leafwright
