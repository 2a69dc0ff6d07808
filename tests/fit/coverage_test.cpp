// Do 95 % intervals hold the truth in 95 % of invented curves? A small version of bench/coverage,
// with fixed random numbers. Goals: Vcmax and Rday 93.5-97 %, J 93.5-98 %, TPU 94-99 %, each +- 0.5
// and three binomial standard errors of this number of draws.
#include "support/coverage.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

constexpr std::size_t draws =
#ifdef NDEBUG
    2000;
#else
    200;
#endif

void expect_covers(const coverage::Count& c, double low, double high) {
  ASSERT_GT(c.draws, draws / 4);
  const double share = 100 * c.share(c.covered);
  const double se = 100 * std::sqrt(0.05 * 0.95 / static_cast<double>(c.draws));
  EXPECT_GE(share, low - 0.5 - 3 * se);
  EXPECT_LE(share, high + 0.5 + 3 * se);
}

coverage::Study study(const std::string& name) {
  for (const auto& regime : coverage::regimes()) {
    if (regime.name == name) return coverage::run(regime, draws, 17);
  }
  ADD_FAILURE() << "no regime " << name;
  return {};
}

void expect_goals(const coverage::Study& s, bool tpu) {
  EXPECT_EQ(s.failed, 0U);
  expect_covers(s.parameters[0], 93.5, 97);
  expect_covers(s.parameters[1], 93.5, 98);
  if (tpu) expect_covers(s.parameters[2], 94, 99);
  expect_covers(s.parameters[3], 93.5, 97);
}

TEST(Coverage, AllStatesSeen) {
  const auto s = study("all states seen, n 13");
  expect_goals(s, true);
  // Coverage must not be bought with open intervals (J can be replaced by TPU, so it often is).
  EXPECT_LT(s.parameters[0].share(s.parameters[0].open), 0.02);
  EXPECT_LT(s.parameters[3].share(s.parameters[3].open), 0.02);
  EXPECT_LT(coverage::median(s.parameters[0].widths), 0.2);
}

TEST(Coverage, FewPoints) {
  expect_goals(study("all states seen, n 6-8"), true);
}

TEST(Coverage, TpuAbsentButPermitted) {
  expect_goals(study("TPU absent, n 13"), false);
}

TEST(Coverage, RuleThatChoosesTheLimitations) {
  const auto absent = study("rule `auto`, TPU absent, n 13");
  expect_goals(absent, false);
  EXPECT_LT(static_cast<double>(absent.with_tpu), 0.05 * static_cast<double>(absent.curves));
  const auto seen = study("rule `auto`, TPU seen, n 13");
  expect_goals(seen, true);
  EXPECT_GT(static_cast<double>(seen.with_tpu), 0.9 * static_cast<double>(seen.curves));
}

TEST(Coverage, BoundOnATpuThatIsNotSeenHoldsInNineteenOfTwenty) {
  // TPU just reaches the highest Ci: the hardest truth for a lower bound.
  const auto s = study("TPU at the edge, n 13");
  const coverage::Count& t = s.parameters[2];
  ASSERT_GT(t.bounds, draws / 4);
  const double n = static_cast<double>(t.bounds);
  const double share = static_cast<double>(t.bounds_hold) / n;
  EXPECT_GE(share, 0.94 - 3 * std::sqrt(0.05 * 0.95 / n));
}

TEST(Coverage, CorrelatedResidualsNeedTheWidenedIntervals) {
  const auto s = study("AR(1) 0.5, all states seen, n 13");
  EXPECT_NEAR(s.rho, 0.45, 0.15);
  for (const std::size_t k : {std::size_t{0}, std::size_t{3}}) {
    const coverage::Count& c = s.parameters[k];
    EXPECT_LT(c.share(c.covered), 0.86) << "independent noise must be seen to fail here";
    EXPECT_GT(c.share(c.covered_widened), 0.87);
    EXPECT_LT(c.share(c.covered_widened), 0.97);
  }
}

}  // namespace
}  // namespace leafwright
