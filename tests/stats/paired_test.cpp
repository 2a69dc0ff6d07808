// Paired differences: R's numbers, closed forms, and what the intervals cover.
#include "stats/paired.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

std::vector<PairedDifference> of(const std::vector<double>& values, std::size_t leaves_a_plant) {
  std::vector<PairedDifference> out;
  for (std::size_t i = 0; i < values.size(); ++i)
    out.push_back({values[i], i / leaves_a_plant, {}});
  return out;
}

const std::vector<double> four_plants = {0.11, 0.05, 0.08,  -0.06, -0.02, -0.10,
                                         0.02, 0.07, -0.01, 0.15,  0.09,  0.21};

// Computed with R 4.2.2 and nlme 3.1.162: lme(y ~ 1, random = ~ 1 | plant), REML, and t.test of the
// plants' means. With equal numbers of leaves REML is the method of moments.
TEST(Paired, PlantEffectIsThatOfRemlInR) {
  const PairedSummary s = summarise_pairs(of(four_plants, 3));
  EXPECT_EQ(s.leaves, 12U);
  EXPECT_EQ(s.plants, 4U);
  EXPECT_TRUE(s.clustered);
  EXPECT_NEAR(s.mean, 0.0491666666667, 1e-12);
  EXPECT_NEAR(*s.se, 0.044292272614, 1e-8);  // lme() iterates
  EXPECT_NEAR(*s.sd_plants * *s.sd_plants, 0.007202777, 1e-8);
  EXPECT_NEAR(*s.sd_leaves * *s.sd_leaves, 0.001933333, 1e-9);
  EXPECT_NEAR(*s.sd_total, std::sqrt(0.007202777 + 0.001933333), 1e-7);
  EXPECT_NEAR(*s.p, 0.3479512178273, 1e-12);
  EXPECT_NEAR(*s.low, -0.0917911177765, 1e-12);
  EXPECT_NEAR(*s.high, 0.1901244511099, 1e-12);
  EXPECT_EQ(s.limits->method, "MOVER");
}

// Bland & Altman 1986, Lancet i:307: peak flow of 17 people by two meters, first readings; mean
// -2.1, SD 38.8, limits -79.7 to 75.5 (they use 2 SD), interval of the mean -22.0 to 17.8 l/min.
// Readings and results from memory; that they reproduce the printed results is the check of both.
TEST(Paired, LimitsOfThePeakFlowMeters) {
  const std::vector<double> large = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                                     433, 417, 656, 267, 478, 178, 423, 427};
  const std::vector<double> mini = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                                    445, 432, 626, 260, 477, 259, 350, 451};
  std::vector<double> d;
  for (std::size_t i = 0; i < large.size(); ++i) d.push_back(large[i] - mini[i]);
  const PairedSummary s = summarise_pairs(of(d, 1));
  EXPECT_NEAR(s.mean, -2.1, 0.05);
  EXPECT_NEAR(*s.sd_total, 38.8, 0.05);
  EXPECT_NEAR(s.mean - 2 * *s.sd_total, -79.7, 0.1);
  EXPECT_NEAR(s.mean + 2 * *s.sd_total, 75.5, 0.1);
  EXPECT_NEAR(*s.low, -22.0, 0.1);
  EXPECT_NEAR(*s.high, 17.8, 0.1);
  EXPECT_NEAR(s.limits->upper.value, s.mean + 1.959964 * *s.sd_total, 1e-4);
  // The exact interval of the upper limit is longer outwards, unlike their approximate one.
  EXPECT_GT(s.limits->upper.high - s.limits->upper.value,
            s.limits->upper.value - s.limits->upper.low);
}

TEST(Paired, NoncentralTIsThatOfR) {  // R 4.2.2: qt(p, df, ncp), pt
  EXPECT_NEAR(noncentral_t_quantile(0.025, 19, 1.95996398454005 * std::sqrt(20)), 6.06638199406553,
              1e-8);
  EXPECT_NEAR(noncentral_t_quantile(0.975, 19, 1.95996398454005 * std::sqrt(20)), 13.47903159350618,
              1e-8);
  EXPECT_NEAR(noncentral_t_cdf(3.2, 7, 2.5), 0.669993616917949, 1e-10);
  EXPECT_TRUE(std::isnan(noncentral_t_quantile(0, 5, 1)));
  EXPECT_TRUE(std::isnan(noncentral_t_cdf(1, -1, 1)));
}

TEST(Paired, FewLeavesSayWhatTheyCannot) {
  const PairedSummary one = summarise_pairs(of({0.2}, 1));
  EXPECT_EQ(one.mean, 0.2);
  EXPECT_FALSE(one.se || one.low || one.p || one.limits);
  const PairedSummary two = summarise_pairs(of({0.2, 0.4}, 1));
  EXPECT_TRUE(two.low && two.p);
  EXPECT_FALSE(two.limits);
  const PairedSummary one_plant = summarise_pairs(of({0.2, 0.3, 0.4}, 3));
  EXPECT_FALSE(one_plant.low);
  EXPECT_THROW(summarise_pairs({}), std::logic_error);
}

TEST(Paired, EveryPlantCountsOnce) {
  std::vector<PairedDifference> d = {{1, 0, {}}, {1, 0, {}}, {1, 0, {}}, {0, 1, {}}};
  EXPECT_DOUBLE_EQ(summarise_pairs(d).mean, 0.5);
}

TEST(FitNoise, KnownPartsAreSubtracted) {
  std::vector<PairedDifference> d;
  for (const double v : {-0.3, -0.1, 0.1, 0.3}) d.push_back({v, d.size(), 0.04});
  const auto noise = fit_noise(d);
  ASSERT_TRUE(noise.has_value());
  EXPECT_NEAR(noise->sd_observed, std::sqrt(0.2 / 3), 1e-14);
  EXPECT_NEAR(noise->sd_fit, 0.2, 1e-14);
  EXPECT_NEAR(*noise->sd_beyond, std::sqrt(0.2 / 3 - 0.04), 1e-14);
  EXPECT_NEAR(noise->q, 0.2 / 0.04, 1e-12);
  EXPECT_NEAR(noise->p, chi2_upper(5, 3), 1e-14);
  for (PairedDifference& pair : d) pair.fit_variance = 0.09;
  EXPECT_FALSE(fit_noise(d)->sd_beyond) << "fit noise explains all";
  for (PairedDifference& pair : d) pair.fit_variance.reset();
  EXPECT_FALSE(fit_noise(d));
}

/// Share of draws in which the interval of the upper limit holds the true limit.
double limit_coverage(std::size_t plants, std::size_t leaves, double sd_plants, double sd_leaves,
                      std::uint32_t draws) {
  const double truth = 1.959964 * std::hypot(sd_plants, sd_leaves);
  std::uint32_t held = 0;
  for (std::uint32_t r = 0; r < draws; ++r) {
    RandomStream draw(11, "limits", "coverage", r);
    std::vector<PairedDifference> d;
    for (std::size_t p = 0; p < plants; ++p) {
      const double b = sd_plants * draw.normal();
      for (std::size_t k = 0; k < leaves; ++k) d.push_back({b + sd_leaves * draw.normal(), p, {}});
    }
    const Limit upper = summarise_pairs(d).limits->upper;
    held += upper.low <= truth && truth <= upper.high ? 1U : 0U;
  }
  return held / static_cast<double>(draws);
}

// 1000 draws: a standard error of 0.7 %. The exact interval must hold 95 %; MOVER holds more with
// few plants (97 to 98 % with 6, 96.5 % with 12; the same formulas in R 4.2.2, 20,000 draws).
TEST(Paired, LimitsIntervalsHold) {
  EXPECT_NEAR(limit_coverage(6, 1, 0, 0.12, 1000), 0.95, 0.021);
  EXPECT_NEAR(limit_coverage(20, 1, 0, 0.12, 1000), 0.95, 0.021);
  EXPECT_NEAR(limit_coverage(6, 2, 0.1, 0.07, 1000), 0.979, 0.015);
  EXPECT_NEAR(limit_coverage(12, 3, 0.07, 0.1, 1000), 0.965, 0.018);
}

// Leaves of three a plant taken for plants: a true null is rejected far more often than at 5 %.
TEST(Paired, LeavesTakenForPlantsRejectATrueNull) {
  std::uint32_t as_plants = 0, as_leaves = 0;
  constexpr std::uint32_t draws = 2000;
  for (std::uint32_t r = 0; r < draws; ++r) {
    RandomStream draw(12, "null", "plants", r);
    std::vector<PairedDifference> d;
    for (std::size_t p = 0; p < 6; ++p) {
      const double b = draw.normal();
      for (int k = 0; k < 3; ++k) d.push_back({b + 0.5 * draw.normal(), p, {}});
    }
    as_plants += *summarise_pairs(d).p <= 0.05 ? 1U : 0U;
    for (std::size_t i = 0; i < d.size(); ++i) d[i].plant = i;
    as_leaves += *summarise_pairs(d).p <= 0.05 ? 1U : 0U;
  }
  EXPECT_NEAR(as_plants / static_cast<double>(draws), 0.05, 0.015);
  EXPECT_GT(as_leaves / static_cast<double>(draws), 0.15);
}

}  // namespace
}  // namespace leafwright
