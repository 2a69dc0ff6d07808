// Means of groups: a published example, closed forms, and what the intervals hold.
#include "stats/pool.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "base/random.hpp"
#include "numeric/distributions.hpp"
#include "stats/pool_information.hpp"
#include "stats/pool_run.hpp"

namespace leafwright {
namespace {

PoolValue value(double y, std::optional<double> variance = {}, std::string unit = "") {
  return {std::move(unit), y, variance, PoolBound::none};
}

// Thirteen trials of a vaccine (counts: Colditz et al. 1994, JAMA 271:698), log relative risks.
// tau2, mean, se and intervals by REML and Hartung-Knapp as given for these data by Viechtbauer
// 2010, J. Stat. Softw. 36(3) and its worked analyses. Counts and results from memory; the results
// come out to every digit, which a slip in the counts would not leave standing.
TEST(Pool, RemlAndHartungKnappOfThirteenTrials) {
  const std::array<std::array<double, 4>, 13> counts = {{{4, 119, 11, 128},
                                                         {6, 300, 29, 274},
                                                         {3, 228, 11, 209},
                                                         {62, 13536, 248, 12619},
                                                         {33, 5036, 47, 5761},
                                                         {180, 1361, 372, 1079},
                                                         {8, 2537, 10, 619},
                                                         {505, 87886, 499, 87892},
                                                         {29, 7470, 45, 7232},
                                                         {17, 1699, 65, 1600},
                                                         {186, 50448, 141, 27197},
                                                         {5, 2493, 3, 2338},
                                                         {27, 16886, 29, 17825}}};
  std::vector<PoolValue> trials;
  for (const auto& [a, b, c, d] : counts) {
    trials.push_back(value(std::log(a / (a + b)) - std::log(c / (c + d)),
                           1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)));
  }
  const auto between = between_units(trials);
  ASSERT_TRUE(between);
  EXPECT_NEAR(between->tau2, 0.3132, 0.00005);
  EXPECT_NEAR(between->low, 0.1197, 0.00005);
  ASSERT_TRUE(between->high);
  EXPECT_NEAR(*between->high, 1.1115, 0.00005);
  const auto mean = pool_reml(trials);
  ASSERT_TRUE(mean);
  EXPECT_NEAR(mean->mean, -0.7145, 0.00005);
  EXPECT_NEAR(*mean->se, 0.1807, 0.0001);
  EXPECT_NEAR(*mean->low, -1.1082, 0.0003);
  EXPECT_NEAR(*mean->high, -0.3208, 0.0003);
}

TEST(Pool, WithEqualVariancesRemlIsTheMomentsAndTheIntervalThatOfT) {
  const std::vector<double> y = {1.0, 1.4, 0.7, 1.9, 1.2};  // mean 1.24, variance 0.203
  std::vector<PoolValue> values;
  for (const double v : y) values.push_back(value(v, 0.05));
  const auto between = between_units(values);
  ASSERT_TRUE(between);
  EXPECT_NEAR(between->tau2, 0.203 - 0.05, 1e-9);
  // Q = 4 * 0.203/(tau2 + 0.05) at the quantiles of chi-squared with 4.
  EXPECT_NEAR(between->low, std::max(0.0, 0.812 / chi2_quantile(0.975, 4) - 0.05), 1e-9);
  EXPECT_NEAR(*between->high, 0.812 / chi2_quantile(0.025, 4) - 0.05, 1e-9);
  const auto reml = pool_reml(values);
  const PooledMean plain = pool_unweighted(values);
  EXPECT_NEAR(reml->mean, 1.24, 1e-12);
  EXPECT_NEAR(plain.mean, 1.24, 1e-12);
  EXPECT_NEAR(*plain.se, std::sqrt(0.203 / 5), 1e-12);
  EXPECT_NEAR(*reml->se, *plain.se, 1e-12);
  EXPECT_NEAR(*reml->low, *plain.low, 1e-12);
  EXPECT_NEAR(*plain.high - 1.24, 2.776445 * *plain.se, 1e-6);  // t(4), 97.5 %, from tables
  EXPECT_NEAR(*plain.new_high - 1.24, 2.776445 * std::sqrt(0.203 * 1.2), 1e-6);
  for (PoolValue& v : values) v.variance = 0.5;  // noise larger than all scatter
  EXPECT_EQ(between_units(values)->tau2, 0);
  EXPECT_EQ(between_units(values)->low, 0);
}

TEST(Pool, ShrinkingTakesTheShareThatNoiseHas) {
  EXPECT_NEAR(shrunken_value(2, 0.03, 1, 0.01), 1.25, 1e-12);
  EXPECT_EQ(shrunken_value(2, 0.03, 1, 0), 1);
  EXPECT_EQ(shrunken_value(2, 0, 1, 0.01), 2);
}

TEST(Pool, PlantsAreAveragedFirst) {
  const std::vector<PoolValue> leaves = {value(1, 0.1, "p"), value(3, 0.3, "p"), value(5, 0.2, "q"),
                                         value(7, {}, "r"), value(9, 0.1, "r")};
  const auto plants = average_units(leaves);
  ASSERT_EQ(plants.size(), 3U);
  EXPECT_NEAR(plants[0].value, 2, 1e-12);
  EXPECT_NEAR(*plants[0].variance, 0.4 / 4, 1e-12);
  EXPECT_NEAR(*plants[1].variance, 0.2, 1e-12);
  EXPECT_FALSE(plants[2].variance);
  std::vector<PoolValue> bounded = {
      value(1, 0.1, "p"), {"p", 3, {}, PoolBound::lower}, {"q", 3, {}, PoolBound::upper}};
  const auto two = average_units(bounded);
  EXPECT_EQ(two[0].bound, PoolBound::lower);
  EXPECT_NEAR(two[0].value, 2, 1e-12);
  bounded[2].unit = "p";
  EXPECT_TRUE(average_units(bounded).empty());
}

/// Leaves whose standard errors differ fourfold, as those of good and poor curves do.
std::vector<PoolValue> drawn(RandomStream& draw, std::size_t n, double mean, double tau) {
  std::vector<PoolValue> out;
  for (std::size_t i = 0; i < n; ++i) {
    const double se = 0.03 * std::exp(draw.uniform() * std::log(4));
    out.push_back(value(mean + tau * draw.normal() + se * draw.normal(), se * se));
  }
  return out;
}

/// Is 0 outside mean +- 1.96/sqrt(sum 1/v), the weights that are not offered?
bool inverse_variance_rejects(const std::vector<PoolValue>& values) {
  double w = 0, wy = 0;
  for (const PoolValue& v : values) {
    w += 1 / *v.variance;
    wy += v.value / *v.variance;
  }
  return std::abs(wy / w) > 1.959964 / std::sqrt(w);
}

TEST(Pool, TrueNullsAreRejectedInFivePercent) {
  int plain = 0, reml = 0, inverse = 0, held = 0, held_reml = 0;
  constexpr int draws = 10000;
  for (std::uint32_t k = 0; k < draws; ++k) {
    RandomStream draw(11, "pool", "null", k);
    const auto values = drawn(draw, 6, 0, 0.12);
    const PooledMean a = pool_unweighted(values);
    const auto b = pool_reml(values);
    plain += *a.low > 0 || *a.high < 0 ? 1 : 0;
    reml += *b->low > 0 || *b->high < 0 ? 1 : 0;
    inverse += inverse_variance_rejects(values) ? 1 : 0;
    const double leaf = 0.12 * draw.normal(), se = 0.03 * std::exp(draw.uniform() * std::log(4));
    const double fitted = leaf + se * draw.normal();
    held += *a.new_low <= fitted && fitted <= *a.new_high ? 1 : 0;
    held_reml += *b->new_low <= leaf && leaf <= *b->new_high ? 1 : 0;
  }
  std::printf(
      "true null rejected: unweighted %.2f %%, REML Hartung-Knapp %.2f %%, 1/SE^2 %.1f %%; "
      "a new leaf held: unweighted %.1f %%, REML %.1f %%\n",
      100.0 * plain / draws, 100.0 * reml / draws, 100.0 * inverse / draws, 100.0 * held / draws,
      100.0 * held_reml / draws);
  // The standard error of a share of 5 % is 0.22 %.
  EXPECT_NEAR(1.0 * plain / draws, 0.05, 0.009);
  EXPECT_NEAR(1.0 * reml / draws, 0.05, 0.011);
  EXPECT_GT(1.0 * inverse / draws, 0.3);
  EXPECT_NEAR(1.0 * held / draws, 0.95, 0.009);
  // Known to be short where units are few (Partlett & Riley 2017, Stat. Med. 36:301; from memory),
  // and said in the output.
  EXPECT_GT(1.0 * held_reml / draws, 0.90);
  EXPECT_LT(1.0 * held_reml / draws, 0.96);
}

TEST(Pool, LeavesTakenForPlantsRejectFarTooOften) {
  int as_leaves = 0, as_plants = 0;
  constexpr int draws = 4000;
  for (std::uint32_t k = 0; k < draws; ++k) {
    RandomStream draw(12, "pool", "plants", k);
    std::vector<PoolValue> leaves;
    for (int p = 0; p < 5; ++p) {
      const double plant = 0.1 * draw.normal();
      for (int l = 0; l < 4; ++l) {
        leaves.push_back(value(plant + 0.1 * draw.normal(), {}, std::to_string(p)));
      }
    }
    const PooledMean wrong = pool_unweighted(leaves),
                     right = pool_unweighted(average_units(leaves));
    as_leaves += *wrong.low > 0 || *wrong.high < 0 ? 1 : 0;
    as_plants += *right.low > 0 || *right.high < 0 ? 1 : 0;
  }
  std::printf("true null rejected: leaves for plants %.1f %%, plants %.1f %%\n",
              100.0 * as_leaves / draws, 100.0 * as_plants / draws);
  EXPECT_GT(1.0 * as_leaves / draws, 0.15);
  EXPECT_NEAR(1.0 * as_plants / draws, 0.05, 0.014);  // four standard errors
}

TEST(PoolCensored, WithoutBoundsItIsTheIntervalOfT) {
  std::vector<PoolValue> values;
  for (const double y : {1.0, 1.4, 0.7, 1.9, 1.2}) values.push_back(value(y));
  const auto found = pool_censored(values);
  const PooledMean plain = pool_unweighted(values);
  ASSERT_TRUE(found) << found.error().text();
  EXPECT_NEAR(found->mean, plain.mean, 1e-8);
  EXPECT_NEAR(*found->sd, *plain.sd, 1e-8);
  EXPECT_NEAR(*found->low, *plain.low, 1e-7);
  EXPECT_NEAR(*found->high, *plain.high, 1e-7);
  // Mirrored values with mirrored bounds give the mirrored mean.
  values.push_back({"", 1.5, {}, PoolBound::lower});
  const auto up = pool_censored(values);
  for (PoolValue& v : values) {
    v.value = -v.value;
    if (v.bound == PoolBound::lower) v.bound = PoolBound::upper;
  }
  const auto down = pool_censored(values);
  EXPECT_NEAR(up->mean, -down->mean, 1e-8);
  EXPECT_NEAR(*up->low, -*down->high, 1e-6);
  EXPECT_GT(up->mean, plain.mean);
}

TEST(PoolCensored, BoundsTakeTheBiasOfLeavingThemOutAway) {
  int used = 0, held = 0, held_left_out = 0;
  double bias = 0, bias_left_out = 0;
  for (std::uint32_t k = 0; k < 2000; ++k) {
    RandomStream draw(13, "pool", "censored", k);
    std::vector<PoolValue> values;
    for (int l = 0; l < 14; ++l) {
      const double y = 0.12 * draw.normal();
      // Above 0.08 only a bound is seen: a quarter of leaves.
      values.push_back(y > 0.08 ? PoolValue{"", 0.08, {}, PoolBound::lower} : value(y));
    }
    const auto with = pool_censored(values);
    if (!with) continue;
    const PooledMean without = pool_unweighted(values);
    ++used;
    bias += with->mean;
    bias_left_out += without.mean;
    held += *with->low <= 0 && 0 <= *with->high ? 1 : 0;
    held_left_out += *without.low <= 0 && 0 <= *without.high ? 1 : 0;
  }
  std::printf(
      "a quarter bounded: bias left out %.4f (holds %.1f %%), censored %.4f (holds %.1f %%)\n",
      bias_left_out / used, 100.0 * held_left_out / used, bias / used, 100.0 * held / used);
  EXPECT_GE(used, 1990);
  EXPECT_LT(bias_left_out / used, -0.04);
  EXPECT_NEAR(bias / used, 0, 0.005);
  EXPECT_LT(1.0 * held_left_out / used, 0.7);
  EXPECT_GT(1.0 * held / used, 0.93);
}

TEST(PoolCensored, TooFewValuesAreRefused) {
  const std::vector<PoolValue> values = {value(1), value(2), {"", 3, {}, PoolBound::lower}};
  EXPECT_FALSE(pool_censored(values));
  const std::vector<PoolValue> same = {value(1), value(1), value(1)};
  EXPECT_FALSE(pool_censored(same));
}

PoolVector vector_of(const std::array<double, 3>& y, const std::array<double, 9>& S) {
  return {"", y, {true, true, true}, S};
}

TEST(PoolInformation, WithEqualMatricesItIsEachMeanWithItsT) {
  const std::array<double, 9> S = joint_covariance({0.05, 0.04, 0.3}, {0.5, 0.6, 0.4});
  RandomStream draw(3, "pool", "equal");
  std::vector<PoolVector> units;
  std::vector<PoolValue> first, last;
  for (int l = 0; l < 9; ++l) {
    units.push_back(vector_of({0.2 * draw.normal(), 0.15 * draw.normal(), 0.7 * draw.normal()}, S));
    first.push_back(value(units.back().value[0], S[0]));
    last.push_back(value(units.back().value[2], S[8]));
  }
  const auto found = pool_information(units);
  ASSERT_TRUE(found) << found.error().text();
  EXPECT_TRUE(found->converged);
  EXPECT_NEAR(found->scale, 1, 1e-5);
  EXPECT_NEAR(found->means[0].mean, pool_unweighted(first).mean, 1e-10);
  EXPECT_NEAR(*found->means[0].low, *pool_unweighted(first).low, 1e-6);
  EXPECT_NEAR(*found->means[2].high, *pool_unweighted(last).high, 1e-6);
  EXPECT_NEAR(found->between[0], between_units(first)->tau2, 1e-6);
  EXPECT_NEAR(found->between[8], between_units(last)->tau2, 1e-6);
}

TEST(PoolInformation, TrueMeansAreHeldAndThePriceOfNoCorrelationIsSeen) {
  std::array<int, 3> held{};
  double error = 0, error_alone = 0;
  int used = 0;
  for (std::uint32_t k = 0; k < 1000; ++k) {
    RandomStream draw(14, "pool", "information", k);
    std::vector<PoolVector> units;
    std::vector<PoolValue> alone;
    for (int l = 0; l < 8; ++l) {
      // Half the leaves are poor, and trade Vcmax against Rday along one line.
      const double size = l % 2 == 0 ? 0.05 : 0.25, r = l % 2 == 0 ? 0.3 : 0.95;
      const std::array<double, 3> se = {size, 0.05, 4 * size};
      const double z = draw.normal(), z2 = r * z + std::sqrt(1 - r * r) * draw.normal();
      units.push_back(
          vector_of({0.1 * draw.normal() + se[0] * z, 0.1 * draw.normal() + se[1] * draw.normal(),
                     0.25 * draw.normal() + se[2] * z2},
                    joint_covariance(se, {0, r, 0})));
      if (l == 3) units.back().known[1] = false;
      alone.push_back(value(units.back().value[0], se[0] * se[0]));
    }
    const auto found = pool_information(units);
    ASSERT_TRUE(found) << found.error().text();
    ++used;
    for (std::size_t j = 0; j < 3; ++j) {
      held[j] += *found->means[j].low <= 0 && 0 <= *found->means[j].high ? 1 : 0;
    }
    error += std::pow(found->means[0].mean, 2);
    error_alone += std::pow(pool_unweighted(alone).mean, 2);
  }
  std::printf(
      "information form: holds %.1f, %.1f, %.1f %%; RMSE of the mean %.4f, unweighted %.4f\n",
      100.0 * held[0] / used, 100.0 * held[1] / used, 100.0 * held[2] / used,
      std::sqrt(error / used), std::sqrt(error_alone / used));
  for (const int h : held) {
    EXPECT_GT(1.0 * h / used, 0.93);
    EXPECT_LT(1.0 * h / used, 0.98);
  }
  EXPECT_LT(error, error_alone);
}

TEST(PoolInformation, FewerThanThreeOfOneAreNamed) {
  std::vector<PoolVector> units(4, vector_of({1, 1, 1}, joint_covariance({1, 1, 1}, {0, 0, 0})));
  units[0].known[2] = units[1].known[2] = false;
  const auto found = pool_information(units);
  ASSERT_FALSE(found);
  EXPECT_NE(found.error().found.find("2 values of Rday"), std::string::npos);
}

PoolLeaf leaf(std::string id, const std::string& status, double number) {
  PoolLeaf out{id, id, status, number, 0.1 * number, {}, {}, ""};
  if (status == "lower bound") out.low = number;
  return out;
}

TEST(PoolRun, BoundsAreCountedOpenlyOrEntered) {
  PoolGroup group{"g", "TPU", "umol m-2 s-1", true, {}, {}};
  for (const double y : {8.0, 9.0, 10.0, 9.5}) {
    group.leaves.push_back(leaf("leaf " + std::to_string(y), "estimated", y));
  }
  group.leaves.push_back(leaf("above", "lower bound", 11));
  group.leaves.push_back(leaf("nothing", "not identified", 11));
  group.leaves.push_back(leaf("held", "fixed", 11));
  const auto out = pool_group(group, {});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_EQ(out->mean.units, 4U);
  EXPECT_EQ(out->lower_bounds, 1U);
  EXPECT_EQ(out->without, 2U);
  EXPECT_NEAR(out->back(out->mean.mean), std::pow(8 * 9 * 10 * 9.5, 0.25), 1e-9);
  ASSERT_EQ(out->notes.size(), 1U);
  EXPECT_NE(out->notes[0].text.find("likely too low"), std::string::npos) << out->notes[0].text;
  const auto in = pool_group(group, {.bounds = PoolBounds::censored});
  ASSERT_TRUE(in) << in.error().text();
  EXPECT_EQ(in->mean.bounds, 1U);
  EXPECT_GT(in->mean.mean, out->mean.mean);
  EXPECT_FALSE(pool_group(group, {.method = PoolMethod::reml, .bounds = PoolBounds::censored}));
}

}  // namespace
}  // namespace leafwright
