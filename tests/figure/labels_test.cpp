#include "figure/labels.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

const Box page{0, 0, 100, 100};
Box at(double x, double y) {
  return {x, y, x + 20, y + 8};
}

TEST(Overlap, IsTheSharedArea) {
  EXPECT_DOUBLE_EQ(overlap({0, 0, 10, 10}, {5, 5, 20, 20}), 25);
  EXPECT_DOUBLE_EQ(overlap({0, 0, 10, 10}, {10, 0, 20, 10}), 0);
}

TEST(PlaceLabels, TakesTheFirstFreePlace) {
  const auto chosen = place_labels({{at(10, 10), at(50, 50)}}, {}, page);
  EXPECT_EQ(chosen.at(0), 0U);
}

TEST(PlaceLabels, KeepsOffObstaclesAndOtherLabels) {
  const std::vector<Obstacle> drawn = {{at(10, 10), 1}};
  const std::vector<Box> places = {at(10, 10), at(50, 50), at(50, 70)};
  const auto chosen = place_labels({places, places}, drawn, page);
  EXPECT_EQ(chosen.at(0), 1U);
  EXPECT_EQ(chosen.at(1), 2U);
}

TEST(PlaceLabels, DropsALabelThatFindsNoPlace) {
  EXPECT_FALSE(place_labels({{at(90, 10)}}, {}, page).at(0));                 // sticks out
  EXPECT_FALSE(place_labels({{at(10, 10)}}, {{at(10, 10), 1}}, page).at(0));  // covers all
  const auto same = place_labels({{at(10, 10)}, {at(15, 12)}}, {}, page);
  EXPECT_TRUE(same.at(0));
  EXPECT_FALSE(same.at(1));
}

}  // namespace
}  // namespace leafwright
