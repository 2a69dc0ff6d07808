#include "numeric/profile.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

const std::vector<double> x{0, 1, 2, 3, 4, 5, 6, 7};
const std::vector<double> y{1.1, 2.9, 5.2, 6.8, 9.1, 11.2, 12.7, 15.1};

LeastSquaresProblem line() {
  LeastSquaresProblem problem;
  problem.residual_count = x.size();
  problem.residuals = [](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < x.size(); ++i) r[i] = p[0] + p[1] * x[i] - y[i];
  };
  problem.start = {0, 1};
  return problem;
}

// In a linear model the profile is the interval of Student's t, exactly.
TEST(Profile, EqualsStudentsIntervalInALinearModel) {
  const auto problem = line();
  const auto best = least_squares(problem);
  ASSERT_TRUE(best);
  const double t = t_quantile(0.975, static_cast<double>(best->df));
  for (std::size_t k = 0; k < 2; ++k) {
    const auto interval = profile_interval(problem, *best, k);
    ASSERT_TRUE(interval) << interval.error().text();
    const double half = t * *best->standard_errors[k];
    ASSERT_TRUE(interval->low && interval->high);
    EXPECT_NEAR(*interval->low, best->parameters[k] - half, 1e-6 * half);
    EXPECT_NEAR(*interval->high, best->parameters[k] + half, 1e-6 * half);
  }
}

// A plateau that the data never reach is bounded below only.
TEST(Profile, IsOpenWhereTheDataDoNotBound) {
  LeastSquaresProblem problem;
  problem.residual_count = x.size();
  problem.residuals = [](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < x.size(); ++i) r[i] = std::min(p[0] * x[i] + 1.0, p[1]) - y[i];
  };
  problem.start = {2, 20};
  problem.lower = {0, 0};
  problem.upper = {10, 1e6};
  const auto best = least_squares(problem);
  ASSERT_TRUE(best);
  const auto interval = profile_interval(problem, *best, 1);
  ASSERT_TRUE(interval) << interval.error().text();
  EXPECT_TRUE(interval->low.has_value());
  EXPECT_FALSE(interval->high.has_value());
}

TEST(Profile, SaysWhenThereIsNothingToJudgeBy) {
  LeastSquaresProblem problem;
  problem.residual_count = 2;
  problem.residuals = [](std::span<const double> p, std::span<double> r) {
    r[0] = p[0] - 1;
    r[1] = p[0] + p[1] - 3;
  };
  problem.start = {0, 0};
  const auto best = least_squares(problem);
  ASSERT_TRUE(best);
  const auto interval = profile_interval(problem, *best, 0);
  ASSERT_FALSE(interval);
  EXPECT_NE(interval.error().text().find("no degrees of freedom"), std::string::npos);
}

}  // namespace
}  // namespace leafwright
