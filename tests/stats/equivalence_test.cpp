// Equivalence, power, rank and order tests against R, closed forms and their own promises.
#include "stats/equivalence.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "numeric/distributions.hpp"
#include "stats/paired.hpp"

namespace leafwright {
namespace {

TEST(Tost, IsTheIntervalInsideTheMargin) {
  const double t = t_quantile(0.95, 5);
  EXPECT_NEAR(test_equivalence(0.02, 0.03, 5, 0.02 + t * 0.03).p_equivalent, 0.05, 1e-12);
  EXPECT_NEAR(test_equivalence(-0.2, 0.03, 5, 0.2 - t * 0.03).p_beyond, 0.05, 1e-12);
  EXPECT_EQ(verdict_of(0.05, 0.9), Verdict::equivalent);
  EXPECT_EQ(verdict_of(0.9, 0.05), Verdict::different);
  EXPECT_EQ(verdict_of(0.06, 0.06), Verdict::not_shown);
  EXPECT_EQ(test_equivalence(0.01, 0, 5, 0.1).p_equivalent, 0);
  EXPECT_EQ(test_equivalence(0.2, 0, 5, 0.1).p_beyond, 0);
}

// A study of groups states 0.19 with 6 leaves and 0.93 with 20 for +-10 % at SD 0.12. Its rounding
// is met by log(1.1); the digits are those of R 4.2.2's integrate() over the distribution of s.
TEST(Tost, PowerIsTheStatedOneAndThatOfR) {
  EXPECT_NEAR(tost_power(6, 0.12, std::log(1.1)), 0.19, 0.005);
  EXPECT_NEAR(tost_power(20, 0.12, std::log(1.1)), 0.93, 0.006);
  EXPECT_NEAR(tost_power(6, 0.12, std::log(1.1)), 0.191264961442210, 1e-9);
  EXPECT_NEAR(tost_power(20, 0.12, std::log(1.1)), 0.924364355165823, 1e-9);
  EXPECT_NEAR(tost_power(12, 0.12, std::log(1.1)), 0.649222893762470, 1e-9);
  EXPECT_NEAR(tost_power(3, 0.05, 0.2), 0.982520139230811, 1e-9);
}

TEST(Tost, NeededPairsIsTheFirstWithThatPower) {
  const auto n = pairs_needed(0.12, std::log(1.1));
  ASSERT_TRUE(n.has_value());
  EXPECT_GE(tost_power(*n, 0.12, std::log(1.1)), 0.8);
  EXPECT_LT(tost_power(*n - 1, 0.12, std::log(1.1)), 0.8);
  EXPECT_EQ(pairs_needed(0.001, 0.5), 2U);
  EXPECT_FALSE(pairs_needed(10, 0.01, 0.8, 0.05, 1000));
}

// At the margin the verdict "equivalent" must not come up in more than 5 %.
TEST(Tost, SizeAtTheMargin) {
  for (const std::size_t n : {6U, 12U, 20U}) {
    std::uint32_t wrong = 0;
    constexpr std::uint32_t draws = 2000;
    for (std::uint32_t r = 0; r < draws; ++r) {
      RandomStream draw(21, std::to_string(n), "tost", r);
      std::vector<PairedDifference> d;
      for (std::size_t i = 0; i < n; ++i) d.push_back({0.0953 + 0.12 * draw.normal(), i, {}});
      const PairedSummary s = summarise_pairs(d);
      wrong += test_equivalence(s.mean, *s.se, *s.df, 0.0953).p_equivalent <= 0.05 ? 1U : 0U;
    }
    EXPECT_LE(wrong / static_cast<double>(draws), 0.05 + 3 * 0.005) << n;
  }
}

TEST(Holm, IsThatOfR) {  // R 4.2.2: p.adjust(c(0.01, 0.04, 0.03, 0.005), "holm")
  const std::vector<double> p = {0.01, 0.04, 0.03, 0.005};
  const std::vector<double> adjusted = holm(p);
  const std::vector<double> expected = {0.03, 0.06, 0.06, 0.02};
  for (std::size_t i = 0; i < 4; ++i) EXPECT_NEAR(adjusted[i], expected[i], 1e-15);
  EXPECT_TRUE(holm({}).empty());
}

TEST(SignedRank, IsExact) {
  // R 4.2.2: wilcox.test(x), exact.
  const std::vector<double> x = {0.03, -0.11, 0.07, 0.12, 0.05, -0.02, 0.09, 0.14};
  EXPECT_EQ(signed_rank(x)->w, 29);
  EXPECT_NEAR(signed_rank(x)->p, 0.1484375, 1e-15);
  const std::vector<double> y = {3, -1, 2, 5, -4, 6, 7, 8, 9.5, -2.5};
  EXPECT_EQ(signed_rank(y)->w, 46);
  EXPECT_NEAR(signed_rank(y)->p, 0.064453125, 1e-15);
  // With ties: all 2^8 signs counted in R 4.2.2 with expand.grid.
  const std::vector<double> ties = {1, 1, -2, 3, 3, -1, 4, 5};
  EXPECT_EQ(signed_rank(ties)->w, 30);
  EXPECT_NEAR(signed_rank(ties)->p, 0.109375, 1e-15);
}

TEST(SignedRank, NeedsSix) {
  const std::vector<double> six = {1, 2, 3, 4, 5, 6};
  EXPECT_NEAR(signed_rank(six)->p, 2 / 64.0, 1e-15);  // closed form
  EXPECT_FALSE(signed_rank(std::span(six).first(5)));
  const std::vector<double> zero = {0, 2, 3, 4, 5, 6};
  EXPECT_FALSE(signed_rank(zero)) << "a zero does not count";
}

TEST(Welch, IsThatOfR) {  // R 4.2.2: t.test(a, b)
  const std::vector<double> a = {5.1, 4.9, 6.2, 5.8, 5.5}, b = {4.4, 4.8, 5.0, 4.1};
  const auto t = welch_test(a, b);
  ASSERT_TRUE(t.has_value());
  EXPECT_NEAR(t->difference / t->se, 2.9912727087814392, 1e-12);
  EXPECT_NEAR(t->df, 6.9996013156583299, 1e-12);
  EXPECT_NEAR(t->p, 0.0201912891899876, 1e-12);
  EXPECT_NEAR(t->low, 0.1937718903640443, 1e-12);
  EXPECT_NEAR(t->high, 1.6562281096359552, 1e-12);
  EXPECT_FALSE(welch_test(std::span(a).first(1), b));
}

}  // namespace
}  // namespace leafwright
