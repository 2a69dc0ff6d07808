// What pooling in two stages gains on thinned curves, and when it harms. The truth is simulated.
#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "base/random.hpp"
#include "fit/estimate_correlation.hpp"
#include "fit/fit.hpp"
#include "stats/pool_run.hpp"

namespace leafwright {
namespace {

struct Leaves {
  std::vector<std::array<double, 3>> truth;  ///< ln Vcmax, ln J, Rday
  std::array<PoolGroup, 3> groups;
  std::vector<std::array<std::optional<double>, 3>> correlations;
};

/// Leaves with ln Vcmax and ln J round `middle`, SD 0.12 and correlation 0.7, Rday 1 +- 0.25; seven
/// rows a curve, noise of A 0.8; each fitted by itself.
Leaves fitted(std::uint64_t seed, const std::vector<double>& middle) {
  const Settings settings(fit_settings());
  auto options = fit_options(settings);
  options->limitations = LimitationSet{true, true, false};
  options->budget = false;
  const auto k = kinetics_at(*options->kinetics, 25, 100, options->basis, {});
  RandomStream draw(seed, "pool", "thinned curves");
  Leaves out;
  out.groups[0] = {"", "Vcmax", "umol m-2 s-1", true, {}, {}};
  out.groups[1] = {"", "J", "umol m-2 s-1", true, {}, {}};
  out.groups[2] = {"", "Rday", "umol m-2 s-1", false, {}, {}};
  for (std::size_t l = 0; l < middle.size(); ++l) {
    const double z = draw.normal(), z2 = 0.7 * z + std::sqrt(1 - 0.49) * draw.normal();
    const C3Leaf leaf{.Vcmax = middle[l] * std::exp(0.12 * z),
                      .J = 1.9 * middle[l] * std::exp(0.12 * z2),
                      .TPU = std::numeric_limits<double>::infinity(),
                      .Rday = 1 + 0.25 * draw.normal()};
    Curve curve;
    curve.curve_id = "leaf " + std::to_string(l);
    for (const double Ci : {70.0, 130.0, 200.0, 280.0, 450.0, 700.0, 1100.0}) {
      CurveRow row;
      row.row = curve.rows.size();
      row.Ci = Ci;
      row.A = c3_assimilation(Ci, leaf, *k).A + 0.8 * draw.normal();
      row.Tleaf = 25;
      row.Patm = 100;
      curve.rows.push_back(row);
    }
    const auto fit = fit_curve(curve, *options);
    if (!fit) continue;
    out.truth.push_back({std::log(leaf.Vcmax), std::log(leaf.J), leaf.Rday});
    const std::array<const Estimate*, 3> estimates = {&fit->Vcmax, &fit->J, &fit->Rday};
    for (std::size_t j = 0; j < 3; ++j) {
      const Estimate& e = *estimates[j];
      out.groups[j].leaves.push_back({curve.curve_id, curve.curve_id, status_name(e.status),
                                      e.value, e.se, e.low, e.high, ""});
    }
    const EstimateCorrelations r = estimate_correlations(*fit);
    out.correlations.push_back({r.Vcmax_J, r.Vcmax_Rday, r.J_Rday});
  }
  return out;
}

/// Sums of squared errors of ln Vcmax over the leaves that have both values.
struct Errors {
  double own = 0, shrunken = 0;
  std::size_t leaves = 0;
  void add(const PoolResult& result, const Leaves& leaves_of) {
    for (const PoolUnit& unit : result.units) {
      const std::size_t l = std::stoul(unit.value.unit.substr(5));
      if (!unit.shrunken || l >= leaves_of.truth.size()) continue;
      own += std::pow(unit.value.value - leaves_of.truth[l][0], 2);
      shrunken += std::pow(*unit.shrunken - leaves_of.truth[l][0], 2);
      ++leaves;
    }
  }
  [[nodiscard]] double rmse_own() const { return std::sqrt(own / static_cast<double>(leaves)); }
  [[nodiscard]] double rmse() const { return std::sqrt(shrunken / static_cast<double>(leaves)); }
};

TEST(PoolGain, LeavesOfOneGroupHelpEachOther) {
  Errors one, together;
  int groups = 0;
  std::array<int, 3> held{};
  std::array<double, 3> error{};
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    const Leaves leaves = fitted(seed, std::vector<double>(12, 60));
    ASSERT_EQ(leaves.truth.size(), 12U);
    const auto plain = pool_group(leaves.groups[0], {});
    const auto reml = pool_group(leaves.groups[0], {.method = PoolMethod::reml});
    const auto joint = pool_jointly(leaves.groups, leaves.correlations, {});
    ASSERT_TRUE(plain && reml && joint);
    one.add(*reml, leaves);
    together.add(joint->front(), leaves);
    ++groups;
    const std::array<const PoolResult*, 3> results = {&*plain, &*reml, &joint->front()};
    for (std::size_t k = 0; k < 3; ++k) {
      const PooledMean& m = results[k]->mean;
      held[k] += *m.low <= std::log(60) && std::log(60) <= *m.high ? 1 : 0;
      error[k] += std::pow(m.mean - std::log(60), 2);
    }
  }
  std::printf(
      "RMSE of ln Vcmax of leaves: alone %.3f, drawn by Vcmax alone %.3f, with all three "
      "together %.3f\n",
      one.rmse_own(), one.rmse(), together.rmse());
  for (std::size_t k = 0; k < 3; ++k) {
    std::printf("%s: RMSE of the mean %.4f, holds %d of %d\n",
                k == 0 ? "unweighted" : (k == 1 ? "REML" : "information"),
                std::sqrt(error[k] / groups), held[k], groups);
    EXPECT_GE(held[k], groups * 85 / 100);
  }
  EXPECT_LT(one.rmse(), one.rmse_own());
  EXPECT_LT(together.rmse(), together.rmse_own());
}

TEST(PoolGain, TwoKindsOfLeavesPooledTogetherAreDrawnToAMiddleThatNoneHas) {
  double low = 0, high = 0, low_own = 0, high_own = 0, n_low = 0, n_high = 0;
  double between = 0;
  int groups = 0;
  for (std::uint64_t seed = 101; seed <= 130; ++seed) {
    std::vector<double> middle(12, 60);
    middle[0] = middle[1] = middle[2] = 40;  // three leaves of another kind
    const Leaves leaves = fitted(seed, middle);
    const auto mixed = pool_group(leaves.groups[0], {.method = PoolMethod::reml});
    ASSERT_TRUE(mixed);
    for (const PoolUnit& unit : mixed->units) {
      const std::size_t l = std::stoul(unit.value.unit.substr(5));
      if (!unit.shrunken) continue;
      const double off = *unit.shrunken - leaves.truth[l][0];
      const double own = unit.value.value - leaves.truth[l][0];
      (l < 3 ? low : high) += off;
      (l < 3 ? low_own : high_own) += own;
      (l < 3 ? n_low : n_high) += 1;
    }
    between += std::sqrt(mixed->between->tau2);
    ++groups;
  }
  std::printf(
      "two kinds pooled: mean error of ln Vcmax, the few %+.3f (own %+.3f), the many %+.3f "
      "(own %+.3f); sqrt(tau2) %.3f where each kind has 0.12\n",
      low / n_low, low_own / n_low, high / n_high, high_own / n_high, between / groups);
  EXPECT_GT(low / n_low, low_own / n_low + 0.02);
  EXPECT_LT(high / n_high, high_own / n_high);
  EXPECT_GT(between / groups, 0.15);
}

}  // namespace
}  // namespace leafwright
