#include "figure/ticks.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <set>

namespace leafwright {
namespace {

std::vector<std::string> labels(Span span, int wanted) {
  std::vector<std::string> out;
  for (const Tick& t : nice_ticks(span, wanted)) out.push_back(t.label);
  return out;
}

TEST(NiceTicks, AreRound) {
  using L = std::vector<std::string>;
  EXPECT_EQ(labels({0, 1500}, 3), (L{"0", "500", "1000", "1500"}));
  EXPECT_EQ(labels({-2.7, 26.4}, 6), (L{"0", "5", "10", "15", "20", "25"}));
  EXPECT_EQ(labels({-0.43, 0.43}, 4), (L{"−0.4", "−0.2", "0.0", "0.2", "0.4"}));
  EXPECT_EQ(labels({0.02, 0.051}, 3), (L{"0.02", "0.03", "0.04", "0.05"}));
  EXPECT_EQ(labels({-30, -10}, 4), (L{"−30", "−25", "−20", "−15", "−10"}));
  EXPECT_EQ(labels({0, 1.5e6}, 3), (L{"0", "5e5", "1e6", "1.5e6"}));
}

TEST(NiceTicks, StepIsOneTwoOrFiveTimesAPowerOfTen) {
  for (const double size : {1e-9, 0.013, 0.7, 3.3, 47.0, 812.0, 5e5, 3e12}) {
    for (int wanted = 1; wanted <= 10; ++wanted) {
      const auto ticks = nice_ticks({0.1 * size, 1.37 * size}, wanted);
      ASSERT_LE(ticks.size(), static_cast<std::size_t>(2 * wanted + 1));
      if (ticks.size() < 2) continue;
      const double step = ticks[1].value - ticks[0].value;
      const double lead = step / std::pow(10.0, std::floor(std::log10(step) + 1e-9));
      EXPECT_LT(std::min({std::abs(lead - 1), std::abs(lead - 2), std::abs(lead - 5)}), 1e-6)
          << step;
    }
  }
}

TEST(NiceTicks, LabelsDiffer) {
  for (const Span span : {Span{0, 1}, Span{1e6, 1.001e6}, Span{400, 400.0001}, Span{-1e-6, 1e-6},
                          Span{123456, 123457}, Span{-1e100, 1e100}}) {
    const auto ticks = nice_ticks(span, 5);
    std::set<std::string> seen;
    for (const Tick& t : ticks) seen.insert(t.label);
    EXPECT_EQ(seen.size(), ticks.size()) << span.low;
    EXPECT_GE(ticks.size(), 2U) << span.low;
  }
}

TEST(NiceTicks, EdgesOfDoubles) {
  const double inf = std::numeric_limits<double>::infinity();
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const Span span : {Span{5, 5}, Span{0, 0}, Span{-7, -7}, Span{9, 3}, Span{1e308, -1e308},
                          Span{nan, 1}, Span{0, inf}, Span{4e9, 4e9 + 1e-7}}) {
    const auto ticks = nice_ticks(span, 5);
    EXPECT_GE(ticks.size(), 2U);
    EXPECT_LE(ticks.size(), 11U);
    for (const Tick& t : ticks) EXPECT_TRUE(std::isfinite(t.value));
  }
  EXPECT_FALSE(nice_ticks({0, 1}, 0).empty());
  EXPECT_FALSE(nice_ticks({0, 1}, -3).empty());
}

TEST(PaddedSpan, ShowsAllValues) {
  const Span span = padded_span({1, 5, 3}, 0.1, false);
  EXPECT_NEAR(span.low, 0.6, 1e-12);
  EXPECT_NEAR(span.high, 5.4, 1e-12);
  EXPECT_DOUBLE_EQ(padded_span({1, 5}, 0.1, true).low, 0);
  EXPECT_DOUBLE_EQ(padded_span({-5, -1}, 0.1, true).high, 0);
  EXPECT_LT(padded_span({-5, 1}, 0.1, true).low, -5);
}

TEST(PaddedSpan, LeavesOutWhatIsNoNumber) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const Span span = padded_span({nan, 2, 4, std::numeric_limits<double>::infinity()}, 0, false);
  EXPECT_DOUBLE_EQ(span.low, 2);
  EXPECT_DOUBLE_EQ(span.high, 4);
  EXPECT_DOUBLE_EQ(padded_span({}, 0.1, false).high, 1);
  EXPECT_DOUBLE_EQ(padded_span({nan}, 0.1, true).low, 0);
}

TEST(PaddedSpan, EqualValuesGetRoom) {
  const Span span = padded_span({40, 40}, 0.05, false);
  EXPECT_DOUBLE_EQ(span.low, 36);
  EXPECT_DOUBLE_EQ(span.high, 44);
  EXPECT_LT(padded_span({0}, 0.05, true).low, padded_span({0}, 0.05, true).high);
}

}  // namespace
}  // namespace leafwright
