#include "base/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

namespace leafwright {
namespace {

// Known answers of Philox4x32-10 as distributed with Salmon et al. 2011 (values from memory; an
// implementation written from the paper's description meets all three, which chance would not).
TEST(Philox, MeetsThePublishedKnownAnswers) {
  EXPECT_EQ(philox4x32({0, 0, 0, 0}, {0, 0}),
            (PhiloxBlock{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8}));
  constexpr std::uint32_t ones = 0xffffffff;
  EXPECT_EQ(philox4x32({ones, ones, ones, ones}, {ones, ones}),
            (PhiloxBlock{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd}));
  // Digits of pi as counter and key.
  EXPECT_EQ(philox4x32({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}),
            (PhiloxBlock{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1}));
}

std::vector<std::uint32_t> first(RandomStream stream, int count = 8) {
  std::vector<std::uint32_t> out;
  for (int i = 0; i < count; ++i) out.push_back(stream());
  return out;
}

TEST(RandomStream, DependsOnSeedCurvePurposeAndReplicateOnly) {
  const auto reference = first(RandomStream(1, "leaf 7", "bootstrap"));
  EXPECT_EQ(reference, first(RandomStream(1, "leaf 7", "bootstrap")));
  EXPECT_NE(reference, first(RandomStream(2, "leaf 7", "bootstrap")));
  EXPECT_NE(reference, first(RandomStream(1ull << 40 | 1, "leaf 7", "bootstrap")));
  EXPECT_NE(reference, first(RandomStream(1, "leaf 8", "bootstrap")));
  EXPECT_NE(reference, first(RandomStream(1, "leaf 7", "search")));
  EXPECT_NE(reference, first(RandomStream(1, "leaf 7", "bootstrap", 1)));
}

TEST(RandomStream, TheOrderInWhichStreamsAreUsedDoesNotMatter) {
  const auto a = first(RandomStream(5, "a", "x")), b = first(RandomStream(5, "b", "x"));
  RandomStream second(5, "b", "x"), one(5, "a", "x");
  std::vector<std::uint32_t> a2, b2;
  for (int i = 0; i < 8; ++i) {
    b2.push_back(second());
    a2.push_back(one());
  }
  EXPECT_EQ(a, a2);
  EXPECT_EQ(b, b2);
}

TEST(RandomStream, TextsAreNotJoinedWithoutABorder) {
  EXPECT_NE(stream_hash("ab", "c"), stream_hash("a", "bc"));
  EXPECT_NE(stream_hash("", "a"), stream_hash("a", ""));
}

TEST(RandomStream, HashesOfManyNamesAreDistinct) {
  std::set<std::uint64_t> seen;
  for (int i = 0; i < 20000; ++i) seen.insert(stream_hash("leaf " + std::to_string(i), "p"));
  EXPECT_EQ(seen.size(), 20000u);
}

TEST(RandomStream, UniformFillsTheUnitInterval) {
  RandomStream draw(11, "", "uniform");
  constexpr int n = 100000, bins = 20;
  std::array<int, bins> count{};
  for (int i = 0; i < n; ++i) {
    const double u = draw.uniform();
    ASSERT_GE(u, 0.0);
    ASSERT_LT(u, 1.0);
    ++count[static_cast<std::size_t>(u * bins)];
  }
  double chi2 = 0;
  for (const int c : count) chi2 += std::pow(c - n / bins, 2) / (n / bins);
  EXPECT_LT(chi2, 43.82);  // chi-squared, 19 df, 0.999 quantile: 43.82 (printed tables)
  EXPECT_GT(chi2, 5.41);   // 0.001 quantile: 5.407
}

TEST(RandomStream, NormalHasTheRightMomentsAndTails) {
  RandomStream draw(12, "", "normal");
  constexpr int n = 200000;
  double sum = 0, sum2 = 0, sum4 = 0, lagged = 0, previous = 0;
  int outside = 0;
  for (int i = 0; i < n; ++i) {
    const double z = draw.normal();
    ASSERT_TRUE(std::isfinite(z));
    sum += z;
    sum2 += z * z;
    sum4 += z * z * z * z;
    lagged += z * previous;
    previous = z;
    outside += std::abs(z) > 1.959964;
  }
  // Four standard errors of each moment.
  const double se = 1 / std::sqrt(static_cast<double>(n));
  EXPECT_NEAR(sum / n, 0, 4 * se);
  EXPECT_NEAR(sum2 / n, 1, 4 * std::numbers::sqrt2 * se);
  EXPECT_NEAR(sum4 / n, 3, 4 * std::sqrt(96.0) * se);
  EXPECT_NEAR(lagged / n, 0, 4 * se);
  EXPECT_NEAR(static_cast<double>(outside) / n, 0.05, 4 * std::sqrt(0.05 * 0.95) * se);
}

TEST(RandomStream, IndexIsUnbiasedAndInRange) {
  RandomStream draw(13, "", "index");
  constexpr int n = 130000;
  std::array<int, 13> count{};
  for (int i = 0; i < n; ++i) {
    const std::size_t k = draw.index(13);
    ASSERT_LT(k, 13u);
    ++count[k];
  }
  double chi2 = 0;
  for (const int c : count) chi2 += std::pow(c - n / 13.0, 2) / (n / 13.0);
  EXPECT_LT(chi2, 32.91);  // 12 df, 0.999 quantile: 32.909
  // A count for which taking a remainder would favour the lower half by 2 to 1 (of 3).
  const std::size_t large = 0xAAAAAAABu;
  int lower = 0;
  for (int i = 0; i < 20000; ++i) lower += draw.index(large) < large / 2;
  EXPECT_NEAR(lower / 20000.0, 0.5, 4 * 0.5 / std::sqrt(20000.0));
  EXPECT_EQ(draw.index(1), 0u);
}

TEST(RandomStream, IndexOfNothingIsABrokenPromise) {
  RandomStream draw(1, "", "");
  EXPECT_THROW(draw.index(0), std::logic_error);
  if (sizeof(std::size_t) > 4) {  // where size_t has 32 bits, no count is too large
    EXPECT_THROW(draw.index(static_cast<std::size_t>(1e10)), std::logic_error);
  }
}

TEST(RandomStream, ServesStandardAlgorithms) {
  std::vector<int> items(50);
  for (int i = 0; i < 50; ++i) items[static_cast<std::size_t>(i)] = i;
  auto shuffled = items;
  std::shuffle(shuffled.begin(), shuffled.end(), RandomStream(3, "x", "shuffle"));
  EXPECT_NE(shuffled, items);
  std::sort(shuffled.begin(), shuffled.end());
  EXPECT_EQ(shuffled, items);
}

}  // namespace
}  // namespace leafwright
