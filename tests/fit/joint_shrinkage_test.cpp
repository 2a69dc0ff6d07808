// The share of their distance that leaves keep, on numbers made by hand.
#include "fit/joint_shrinkage.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace leafwright {
namespace {

void add(JointGroupRun& run, double alone, double together, double alone_rday, double rday) {
  AloneLeaf leaf;
  leaf.fit.Vcmax = alone;
  leaf.fit.Rday = alone_rday;
  run.alone.push_back(leaf);
  Posterior V, R;
  V.name = "Vcmax";
  V.median = together;
  R.name = "Rday";
  R.median = rday;
  run.group.leaves.push_back({"", {V, R}});
}

TEST(JointShrinkage, ALineOfSlopeAHalfKeepsAHalf) {
  JointGroupRun run;
  // On ln: alone -1, 0, 1 round ln 50, together half of it. Rday: 1, 2, 3 became 2 each.
  for (const double z : {-1.0, 0.0, 1.0}) {
    add(run, 50 * std::exp(z), 50 * std::exp(z / 2), 2 + z, 2);
  }
  EXPECT_NEAR(kept_distance(run, "Vcmax").value(), 0.5, 1e-12);
  EXPECT_NEAR(kept_distance(run, "Rday").value(), 0, 1e-12);
  EXPECT_FALSE(kept_distance(run, "TPU").has_value());
}

TEST(JointShrinkage, ALeafThatGivesNothingAloneIsPassedOver) {
  JointGroupRun run;
  add(run, 40, 45, 1, 1);
  add(run, 60, 55, 1, 1);
  add(run, std::numeric_limits<double>::infinity(), 50, 1, 1);
  EXPECT_FALSE(kept_distance(run, "Vcmax").has_value());  // two leaves are too few
  EXPECT_FALSE(kept_distance(run, "Rday").has_value());   // equal alone
  add(run, 50, 50, 1, 1);
  const double x = std::log(60.0 / 40), y = std::log(55.0 / 45);
  EXPECT_NEAR(kept_distance(run, "Vcmax").value(), y / x, 0.01);
  EXPECT_FALSE(alone_value(run.alone[2], "Vcmax").has_value());
}

}  // namespace
}  // namespace leafwright
