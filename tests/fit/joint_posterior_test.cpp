// All leaves of a group at once. What is expected is the truth of simulated leaves, or theory.
#include "fit/joint_posterior.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "base/random.hpp"
#include "fit/exact.hpp"
#include "fit/joint_chain.hpp"
#include "fit/joint_leaves.hpp"

namespace leafwright {
namespace {

const Kinetics constants{.Kc = 404.9, .Ko = 278.4, .O = 210, .gamma_star = 42.75, .Km = 710.3};

struct Truth {
  C3Leaf leaf;
  JointLeafRows rows;
};

/// Leaves whose ln Vcmax and ln J vary by `sd` (correlated by 0.7), Rday by 0.25 round 1, each with
/// rows at `Ci` and noise of A.
std::vector<Truth> simulated(std::uint64_t seed, std::size_t leaves, double sd,
                             const std::vector<double>& Ci, double noise) {
  RandomStream draw(seed, "group", "simulated leaves");
  std::vector<Truth> out;
  for (std::size_t l = 0; l < leaves; ++l) {
    const double z = draw.normal(), z2 = 0.7 * z + std::sqrt(1 - 0.49) * draw.normal();
    Truth t{.leaf = {.Vcmax = 60 * std::exp(sd * z),
                     .J = 115 * std::exp(sd * z2),
                     .TPU = std::numeric_limits<double>::infinity(),
                     .Rday = 1 + 0.25 * draw.normal()},
            .rows = {.leaf = "leaf " + std::to_string(l + 1), .rows = {}}};
    for (const double C : Ci) {
      Observation o;
      o.A = c3_assimilation(C, t.leaf, constants).A + noise * draw.normal();
      o.Ci = C;
      o.kinetics = constants;
      t.rows.rows.push_back(o);
    }
    out.push_back(std::move(t));
  }
  return out;
}

std::vector<JointLeafRows> rows_of(const std::vector<Truth>& leaves) {
  std::vector<JointLeafRows> rows;
  for (const Truth& t : leaves) rows.push_back(t.rows);
  return rows;
}

TEST(JointChains, IndependentDrawsOfAnAutoregressionAreWhatTheorySays) {
  // AR(1): the sum over lags of rho^k gives n (1 - rho)/(1 + rho).
  for (const double rho : {0.0, 0.5, 0.9}) {
    std::vector<std::vector<double>> chains;
    for (std::uint32_t c = 0; c < 4; ++c) {
      RandomStream draw(5, "ar", "chain", c);
      std::vector<double> chain{draw.normal()};
      while (chain.size() < 20000) {
        chain.push_back(rho * chain.back() + std::sqrt(1 - rho * rho) * draw.normal());
      }
      chains.push_back(std::move(chain));
    }
    const double expected = 80000 * (1 - rho) / (1 + rho);
    EXPECT_NEAR(independent_draws(chains) / expected, 1, 0.12) << rho;
    EXPECT_NEAR(split_rhat(chains), 1, 0.005) << rho;
  }
}

TEST(JointChains, RhatSeesChainsThatStandApartAndOnesThatDrift) {
  std::vector<std::vector<double>> apart, drifting;
  for (std::uint32_t c = 0; c < 2; ++c) {
    RandomStream draw(5, "rhat", "chain", c);
    std::vector<double> one, two;
    for (int i = 0; i < 500; ++i) {
      one.push_back(draw.normal() + 3.0 * c);
      two.push_back(draw.normal() + 0.006 * i);
    }
    apart.push_back(std::move(one));
    drifting.push_back(std::move(two));
  }
  EXPECT_GT(split_rhat(apart), 1.5);
  EXPECT_GT(split_rhat(drifting), 1.2);
}

TEST(JointPosterior, GoodCurvesKeepTheirOwnValues) {
  const std::vector<double> Ci{40, 60, 90, 130, 180, 240, 300, 400, 550, 700, 900, 1200, 1500};
  const auto leaves = simulated(1, 6, 0.2, Ci, 0.05);
  const auto found = joint_posterior("g", rows_of(leaves), {.warm_up = 1000, .sweeps = 2000});
  ASSERT_TRUE(found) << found.error().text();
  EXPECT_TRUE(found->converged);
  for (std::size_t l = 0; l < leaves.size(); ++l) {
    const auto p = make_problem(leaves[l].rows.rows, {.tpu = false}, RdayMode::free, 0);
    ASSERT_TRUE(p);
    const C3Leaf alone = solve_exact(*p).leaf;
    const std::vector<Posterior>& v = found->leaves[l].values;
    EXPECT_NEAR(v[0].median / alone.Vcmax, 1, 0.004);
    EXPECT_NEAR(v[1].median / alone.J, 1, 0.004);
    EXPECT_NEAR(v[2].median, alone.Rday, 0.06);
  }
  EXPECT_NEAR(found->sigma.median, 0.05, 0.01);
}

TEST(JointPosterior, PoorCurvesGainAndIntervalsHold) {
  const std::vector<double> Ci{60, 110, 170, 240, 330, 600, 900};
  std::array<double, 2> alone{}, together{};
  int held = 0, intervals = 0, groups = 0;
  double middle_held = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    const auto leaves = simulated(100 + seed, 12, 0.12, Ci, 0.8);
    const auto found =
        joint_posterior("g", rows_of(leaves), {.warm_up = 1000, .sweeps = 2000, .seed = seed});
    ASSERT_TRUE(found) << found.error().text();
    EXPECT_LT(found->sigma.rhat, 1.05);
    ++groups;
    middle_held += found->middle[0].low <= 60 && 60 <= found->middle[0].high ? 1 : 0;
    for (std::size_t l = 0; l < leaves.size(); ++l) {
      const auto p = make_problem(leaves[l].rows.rows, {.tpu = false}, RdayMode::free, 0);
      const C3Leaf own = solve_exact(*p).leaf, &truth = leaves[l].leaf;
      const std::vector<Posterior>& v = found->leaves[l].values;
      alone[0] += std::pow(std::log(own.Vcmax / truth.Vcmax), 2);
      together[0] += std::pow(std::log(v[0].median / truth.Vcmax), 2);
      held += v[0].low <= truth.Vcmax && truth.Vcmax <= v[0].high ? 1 : 0;
      held += v[1].low <= truth.J && truth.J <= v[1].high ? 1 : 0;
      held += v[2].low <= truth.Rday && truth.Rday <= v[2].high ? 1 : 0;
      intervals += 3;
    }
  }
  const double n = groups * 12;
  std::printf("RMSE of ln Vcmax: %.3f alone, %.3f together; held %.3f; middle %.0f of %d\n",
              std::sqrt(alone[0] / n), std::sqrt(together[0] / n),
              static_cast<double>(held) / intervals, middle_held, groups);
  EXPECT_LT(together[0], 0.4 * alone[0]);
  EXPECT_NEAR(static_cast<double>(held) / intervals, 0.95, 0.04);
  EXPECT_GE(middle_held, 10);
}

TEST(JointPosterior, DefaultsOfTheStructAreThoseOfTheCommand) {
  const JointSettings here;
  const Settings there(joint_settings());
  EXPECT_EQ(there.whole("chains"), static_cast<long>(here.chains));
  EXPECT_EQ(there.whole("warm-up"), static_cast<long>(here.warm_up));
  EXPECT_EQ(there.whole("sweeps"), static_cast<long>(here.sweeps));
  EXPECT_EQ(there.number("sampler-seed"), static_cast<double>(here.seed));
  EXPECT_EQ(there.number("spread-log"), here.sd_log);
  EXPECT_EQ(there.number("spread-rday"), here.sd_rday);
}

}  // namespace
}  // namespace leafwright
