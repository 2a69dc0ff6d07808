// Light and stomata against data/reference: worked examples EX15-EX20 that belong here (constructed
// by others' arithmetic) and the published parameter values of file 06.
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "leaf/light.hpp"
#include "leaf/stomata.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

void expect_close(double value, const ReferenceRow& row) {
  EXPECT_NEAR(value, row.number(), 1e-6 * std::abs(row.number()) + row.half_unit()) << row.where();
}

TEST(LightAndStomata, EX19NonRectangularHyperbola) {
  const LightLeaf leaf{0.05, 25, 0.8, 1.5};
  std::size_t rates = 0, points = 0;
  for (const ReferenceRow& row : example("EX19")) {
    if (row.quantity.find("NRH net A") != std::string::npos) {
      expect_close(light_assimilation(number_after(row.condition, "Q="), leaf), row);
      ++rates;
    } else {
      expect_close(light_compensation_point(leaf).value(), row);
      ++points;
    }
  }
  EXPECT_EQ(rates, 6U);
  EXPECT_EQ(points, 1U);
}

TEST(LightAndStomata, EX20ThreeModelsOfConductance) {
  const auto rows = example("EX20");
  ASSERT_EQ(rows.size(), 3U);
  expect_close(medlyn(0, 4.45, 15, 1.5, 400), rows[0]);
  expect_close(ball_berry(0.01, 9, 15, 0.7, 400), rows[1]);
  expect_close(leuning(0.01, 9, 15, 400, 45, 1.0, 1.5), rows[2]);
}

TEST(LightAndStomata, EX18StomatalLimitation) {
  const auto rows = example("EX18");
  ASSERT_EQ(rows.size(), 1U);
  expect_close(stomatal_limitation(17.96552, 24.54032), rows[0]);
}

// Ranges of rice leaves (file 06, looked up): a leaf inside the ranges of phi and Rd has its light
// compensation point inside the published one, which the equation must therefore give.
TEST(LightAndStomata, RiceLeavesHaveTheirCompensationPointWhereItWasMeasured) {
  std::vector<double> phi, respiration, point;
  for (const ReferenceRow& row : read_reference("06_light_stomata.csv")) {
    if (row.quantity.find("rice") == std::string::npos) continue;
    if (row.symbol == "phi") phi.push_back(row.number());
    if (row.symbol == "Rd") respiration.push_back(row.number());
    if (row.symbol == "LCP") point.push_back(row.number());
  }
  ASSERT_EQ(phi.size(), 2U);
  ASSERT_EQ(respiration.size(), 2U);
  ASSERT_EQ(point.size(), 2U);
  const LightLeaf middle{(phi[0] + phi[1]) / 2, 25, 0.8, (respiration[0] + respiration[1]) / 2};
  const double found = light_compensation_point(middle).value();
  EXPECT_GT(found, point[0]);
  EXPECT_LT(found, point[1]);
}

}  // namespace
}  // namespace leafwright::published
