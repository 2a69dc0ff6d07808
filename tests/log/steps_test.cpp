#include "log/steps.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numeric>

namespace leafwright {
namespace {

TEST(Steadiness, OfAStraightLineByHand) {
  // 1, 2, 3 at 0, 30, 60 s: mean 2, sd 1, slope 2 a minute, no residual.
  const std::vector<double> values = {1, 2, 3}, seconds = {0, 30, 60};
  const std::vector<std::size_t> all = {0, 1, 2};
  const Steadiness s = steadiness(values, seconds, all);
  EXPECT_DOUBLE_EQ(s.mean, 2);
  EXPECT_DOUBLE_EQ(s.sd, 1);
  EXPECT_DOUBLE_EQ(*s.slope, 2);
  EXPECT_NEAR(*s.slope_se, 0, 1e-12);
  // 0, 3, 0 at 0, 1, 2 min: slope 0, residuals -1, 2, -1, se = sqrt(6/1/2).
  const Steadiness bent =
      steadiness(std::vector<double>{0, 3, 0}, std::vector<double>{0, 60, 120}, all);
  EXPECT_DOUBLE_EQ(*bent.slope, 0);
  EXPECT_DOUBLE_EQ(*bent.slope_se, std::sqrt(3.0));
  EXPECT_FALSE(steadiness(values, {}, all).slope);
  EXPECT_FALSE(steadiness(values, seconds, std::vector<std::size_t>{0, 2}).slope);
}

struct Record {
  std::vector<double> seconds, CO2r, A, gsw;
  StepSeries series() const { return {seconds, CO2r, A, gsw, {}, {}}; }
};

/// Holds of a minute at 1 s; A comes to level/40 with a time constant of 8 s.
Record steps(const std::vector<double>& levels) {
  Record out;
  double A = levels.front() / 40;
  for (const double level : levels) {
    for (int i = 0; i < 60; ++i) {
      out.seconds.push_back(static_cast<double>(out.seconds.size()));
      out.CO2r.push_back(level);
      A += (level / 40 - A) / 8;
      out.A.push_back(A);
      out.gsw.push_back(200);
    }
  }
  return out;
}

TEST(Plateaus, TheEndOfEachHold) {
  const Record record = steps({400, 100, 400, 800});
  StepChoice choice;
  choice.window_s = 20;
  const auto found = find_plateaus(record.series(), choice);
  ASSERT_EQ(found.size(), 4U);
  EXPECT_EQ(found[1].hold.first, 60U);
  EXPECT_EQ(found[1].hold.last, 119U);
  EXPECT_EQ(found[1].used.size(), 21U);  // 20 s is 21 rows
  EXPECT_EQ(found[1].used.front(), 99U);
  EXPECT_DOUBLE_EQ(found[1].CO2r, 100);
  EXPECT_NEAR(found[1].A->mean, 2.5, 0.05);
  EXPECT_TRUE(found[1].steady) << found[1].why;
  EXPECT_EQ(found[0].role, StepRole::ambient);
  EXPECT_EQ(found[1].role, StepRole::step);
  EXPECT_EQ(found[2].role, StepRole::again);
  EXPECT_EQ(found[3].role, StepRole::step);
}

TEST(Plateaus, ASlopeIsToldWithItsNumbers) {
  Record record = steps({400});
  for (std::size_t i = 0; i < 60; ++i) record.A[i] = 10 + 0.05 * static_cast<double>(i);
  const auto found = find_plateaus(record.series(), {});
  ASSERT_EQ(found.size(), 1U);
  EXPECT_FALSE(found[0].steady);
  EXPECT_NEAR(*found[0].A->slope, 3, 1e-9);
  EXPECT_NE(found[0].why.find("A changes by 3 umol m-2 s-1 a minute, more than 1"),
            std::string::npos)
      << found[0].why;
  record = steps({400});
  for (std::size_t i = 0; i < 60; ++i) record.gsw[i] = 200 + static_cast<double>(i);
  EXPECT_NE(find_plateaus(record.series(), {})[0].why.find("gsw changes by"), std::string::npos);
}

TEST(Plateaus, RepeatsStayOutOfTheMeanAndAreCounted) {
  Record record = steps({400});
  for (std::size_t i = 1; i < 60; i += 2) record.A[i] = record.A[i - 1] = static_cast<double>(i);
  std::vector<char> repeat(60, 0);
  for (std::size_t i = 1; i < 60; i += 2) repeat[i] = 1;
  StepSeries series = record.series();
  series.repeat = repeat;
  StepChoice choice;
  choice.window_s = 3;
  const auto found = find_plateaus(series, choice);
  EXPECT_EQ(found[0].repeats, 2U);
  EXPECT_EQ(found[0].used, (std::vector<std::size_t>{56, 58}));
  EXPECT_DOUBLE_EQ(found[0].A->mean, 58);
}

TEST(Holds, ARampHasNone) {
  std::vector<double> CO2r(300), seconds(300);
  std::iota(seconds.begin(), seconds.end(), 0);
  for (std::size_t i = 0; i < 300; ++i) CO2r[i] = 50 + 3.3 * static_cast<double>(i);
  EXPECT_TRUE(find_holds(CO2r, seconds).empty());
  // One row a point: each is a hold.
  EXPECT_EQ(find_holds(std::vector<double>{400, 200, 50}, std::vector<double>{0, 120, 240}).size(),
            3U);
}

TEST(Holds, ASpikeIsNoSetPoint) {
  std::vector<double> CO2r(120, 400), seconds(120);
  std::iota(seconds.begin(), seconds.end(), 0);
  CO2r[60] = 430;
  const auto holds = find_holds(CO2r, seconds);
  ASSERT_EQ(holds.size(), 1U);
  EXPECT_EQ(holds[0].last, 119U);
}

TEST(Roles, TheFirstIsAmbientLaterOnesAreReturns) {
  using enum StepRole;
  EXPECT_EQ(step_roles(std::vector<double>{400, 200, 50, 398, 800, 410}),
            (std::vector<StepRole>{ambient, step, step, again, step, again}));
  EXPECT_TRUE(step_roles({}).empty());
}

}  // namespace
}  // namespace leafwright
