#include "numeric/distributions.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
const double nan_value = std::numeric_limits<double>::quiet_NaN();

void expect_relative(double found, double expected, double relative) {
  EXPECT_NEAR(found, expected, relative * std::abs(expected)) << "expected " << expected;
}

// Printed tables of percentage points (Abramowitz & Stegun 1964, tables 26.1, 26.8, 26.9, 26.10;
// values from memory, to the digits printed there).
TEST(Distributions, AgreeWithPrintedTables) {
  EXPECT_NEAR(normal_quantile(0.975), 1.95996398454005, 1e-13);
  EXPECT_NEAR(normal_quantile(0.95), 1.64485362695147, 1e-13);
  EXPECT_NEAR(normal_cdf(1.0), 0.841344746068543, 1e-14);
  EXPECT_NEAR(t_quantile(0.975, 1), 12.706, 5e-4);
  EXPECT_NEAR(t_quantile(0.975, 10), 2.228, 5e-4);
  EXPECT_NEAR(t_quantile(0.95, 5), 2.015, 5e-4);
  EXPECT_NEAR(t_quantile(0.995, 30), 2.750, 5e-4);
  EXPECT_NEAR(f_quantile(0.95, 1, 9), 5.12, 5e-3);
  EXPECT_NEAR(f_quantile(0.95, 4, 9), 3.63, 5e-3);
  EXPECT_NEAR(f_quantile(0.95, 3, 10), 3.71, 5e-3);
  EXPECT_NEAR(f_quantile(0.99, 2, 20), 5.85, 5e-3);
  EXPECT_NEAR(chi2_quantile(0.95, 1), 3.841, 5e-4);
  EXPECT_NEAR(chi2_quantile(0.95, 10), 18.307, 5e-4);
}

// Closed forms exist for small df and are an independent route.
TEST(Distributions, AgreeWithClosedForms) {
  for (const double p : {1e-6, 0.025, 0.3, 0.5, 0.7, 0.975, 0.999999}) {
    // Cauchy: tan(pi (p - 1/2)); t with 2 df: (2p - 1)/sqrt(2 p (1 - p)).
    EXPECT_NEAR(t_quantile(p, 1), std::tan(std::numbers::pi * (p - 0.5)),
                1e-10 * (1 + std::abs(t_quantile(p, 1))));
    EXPECT_NEAR(t_quantile(p, 2), (2 * p - 1) / std::sqrt(2 * p * (1 - p)),
                1e-10 * (1 + std::abs(t_quantile(p, 2))));
    // F(2, d): upper tail (1 + 2 f/d)^(-d/2); chi-squared with 2 df: exp(-x/2).
    const double d = 7.5;
    expect_relative(f_quantile(p, 2, d), d / 2 * (std::pow(1 - p, -2 / d) - 1), 1e-9);
    expect_relative(chi2_quantile(p, 2), -2 * std::log1p(-p), 1e-12);
    // F(1, d) = t(d)^2.
    expect_relative(f_quantile(p, 1, d), std::pow(t_quantile((1 + p) / 2, d), 2), 1e-9);
    // Beta(1, b): 1 - (1 - x)^b.
    expect_relative(beta_quantile(p, 1, 3.5), -std::expm1(std::log1p(-p) / 3.5), 1e-12);
  }
  expect_relative(f_upper(30, 2, 8), std::pow(1 + 60.0 / 8, -4), 1e-13);
  expect_relative(chi2_upper(90, 2), std::exp(-45), 1e-12);
  expect_relative(t_upper(1e6, 1), 1 / (std::numbers::pi * 1e6), 1e-9);
}

TEST(Distributions, QuantileAndProbabilityAreInverse) {
  for (const double p : {0.001, 0.05, 0.5, 0.9, 0.9999}) {
    for (const double df : {0.7, 3.0, 8.37, 120.0}) {
      EXPECT_NEAR(t_cdf(t_quantile(p, df), df), p, 1e-12);
      EXPECT_NEAR(t_upper(t_quantile(p, df), df), 1 - p, 1e-12);
      EXPECT_NEAR(f_upper(f_quantile(p, 2.5, df), 2.5, df), 1 - p, 1e-12);
      EXPECT_NEAR(chi2_upper(chi2_quantile(p, df), df), 1 - p, 1e-12);
      EXPECT_NEAR(beta_cdf(beta_quantile(p, df, 2.0), df, 2.0), p, 1e-12);
    }
    EXPECT_NEAR(normal_cdf(normal_quantile(p)), p, 1e-14);
  }
}

TEST(Distributions, FarTailsKeepTheirDigits) {
  // Mills-ratio series 1 - 1/x^2 + 3/x^4 - 15/x^6 + 105/x^8 at x = 20: next term 4e-10 relative.
  const double x = 20, x2 = x * x;
  const double series = std::exp(-x2 / 2) / (x * std::sqrt(2 * std::numbers::pi)) *
                        (1 - 1 / x2 + 3 / (x2 * x2) - 15 / std::pow(x2, 3) + 105 / std::pow(x2, 4));
  expect_relative(normal_upper(x), series, 1e-9);
  EXPECT_GT(normal_upper(37), 0);
}

TEST(Distributions, InfiniteDegreesOfFreedomAreTheLimit) {
  EXPECT_DOUBLE_EQ(t_quantile(0.975, infinity), normal_quantile(0.975));
  EXPECT_DOUBLE_EQ(t_cdf(1.3, infinity), normal_cdf(1.3));
  expect_relative(f_quantile(0.95, 3, infinity), f_quantile(0.95, 3, 1e9), 1e-7);
  expect_relative(f_upper(2.0, 3, infinity), f_upper(2.0, 3, 1e9), 1e-7);
  expect_relative(f_quantile(0.95, infinity, 5), f_quantile(0.95, 1e9, 5), 1e-6);
  expect_relative(f_upper(2.0, infinity, 5), f_upper(2.0, 1e9, 5), 1e-6);
}

TEST(Distributions, TheEndsOfTheProbabilityScale) {
  EXPECT_EQ(normal_quantile(0), -infinity);
  EXPECT_EQ(normal_quantile(1), infinity);
  EXPECT_EQ(t_quantile(0, 3), -infinity);
  EXPECT_EQ(t_quantile(1, 3), infinity);
  EXPECT_EQ(f_quantile(0, 2, 3), 0);
  EXPECT_EQ(f_quantile(1, 2, 3), infinity);
  EXPECT_EQ(chi2_quantile(1, 3), infinity);
  EXPECT_EQ(normal_cdf(infinity), 1);
  EXPECT_EQ(normal_cdf(-infinity), 0);
  EXPECT_EQ(t_cdf(infinity, 3), 1);
  EXPECT_EQ(t_upper(infinity, 3), 0);
  EXPECT_EQ(f_upper(infinity, 2, 3), 0);
  EXPECT_EQ(f_upper(-1, 2, 3), 1);
  EXPECT_EQ(chi2_upper(-1, 3), 1);
}

TEST(Distributions, OutOfDomainIsNanAndNeverThrows) {
  for (const double p : {-0.1, 1.1, nan_value}) {
    EXPECT_TRUE(std::isnan(normal_quantile(p)));
    EXPECT_TRUE(std::isnan(t_quantile(p, 3)));
    EXPECT_TRUE(std::isnan(f_quantile(p, 2, 3)));
    EXPECT_TRUE(std::isnan(chi2_quantile(p, 3)));
    EXPECT_TRUE(std::isnan(beta_quantile(p, 2, 3)));
  }
  for (const double df : {0.0, -1.0, nan_value}) {
    EXPECT_TRUE(std::isnan(t_quantile(0.5, df)));
    EXPECT_TRUE(std::isnan(t_cdf(1, df)));
    EXPECT_TRUE(std::isnan(f_quantile(0.5, df, 3)));
    EXPECT_TRUE(std::isnan(f_quantile(0.5, 3, df)));
    EXPECT_TRUE(std::isnan(f_upper(1, 3, df)));
    EXPECT_TRUE(std::isnan(chi2_quantile(0.5, df)));
    EXPECT_TRUE(std::isnan(chi2_upper(1, df)));
    EXPECT_TRUE(std::isnan(beta_cdf(0.5, df, 1)));
  }
  EXPECT_TRUE(std::isnan(normal_cdf(nan_value)));
  EXPECT_TRUE(std::isnan(t_upper(nan_value, 3)));
  EXPECT_TRUE(std::isnan(f_upper(nan_value, 1, 3)));
}

}  // namespace
}  // namespace leafwright
