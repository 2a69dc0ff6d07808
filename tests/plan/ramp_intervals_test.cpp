// Intervals of a fit to a ramp, against the truth of simulated records: what residuals give is too
// short by far, what the ramp's own errors give holds.
#include "ramp/ramp_intervals.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fit/fit.hpp"
#include "plan/simulated_record.hpp"
#include "ramp/identify.hpp"
#include "support/plain_ramp.hpp"

namespace leafwright {
namespace {

struct Draw {
  CorrectedRamp ramp;
  CurveFit fit;
};

Draw draw(const Simulation& quiet_leaf, const Simulation& quiet_empty, std::uint64_t seed) {
  const RampRecord empty = simulated_record(with_noise(quiet_empty, seed, 1));
  const RampRecord leaf = simulated_record(with_noise(quiet_leaf, seed, 2));
  const GasPath path = *identify({empty});
  CorrectionInput input;
  input.leaf = &leaf;
  input.path = &path;
  input.air.gbw_is = quiet_leaf.settings.stomata.layer.is;
  input.air.stomatal_ratio = 1;
  CorrectionOptions options;
  options.drift_sd = quiet_leaf.settings.noise.drift;
  options.drift_time_s = quiet_leaf.settings.noise.drift_time;
  Draw out{*correct(input, options), {}};
  Curve curve;
  curve.curve_id = "ramp";
  for (std::size_t i = 0; i < out.ramp.A.size(); ++i) {
    CurveRow row;
    row.row = i;
    row.A = out.ramp.A[i];
    row.Ci = out.ramp.Ci[i];
    row.Tleaf = 25;
    row.Patm = quiet_leaf.settings.air.Patm;
    row.use = out.ramp.use[i] != 0;
    curve.rows.push_back(row);
  }
  C3FitOptions fit;
  fit.kinetics = *find_kinetics("bernacchi-2001");
  fit.budget = false;
  out.fit = *fit_curve(curve, fit);
  return out;
}

bool holds(const Estimate& e, double truth) {
  return e.low.value_or(-INFINITY) <= truth && truth <= e.high.value_or(INFINITY);
}

TEST(RampIntervals, HoldTheTruthWhereResidualsDoNot) {
  const Simulation leaf = *simulate_quiet(plain::ramp_settings(false)),
                   empty = *simulate_quiet(plain::ramp_settings(true));
  const C3Leaf& truth = leaf.settings.leaf.c3;
  constexpr int draws = 60;
  int before = 0, after = 0;
  for (int seed = 1; seed <= draws; ++seed) {
    Draw d = draw(leaf, empty, static_cast<std::uint64_t>(seed));
    before += static_cast<int>(holds(d.fit.Vcmax, truth.Vcmax)) +
              static_cast<int>(holds(d.fit.J, truth.J));
    std::vector<std::size_t> rows(d.ramp.A.size());
    std::iota(rows.begin(), rows.end(), 0);
    widen_to_ramp_errors(d.ramp, rows, d.fit);
    after += static_cast<int>(holds(d.fit.Vcmax, truth.Vcmax)) +
             static_cast<int>(holds(d.fit.J, truth.J));
  }
  EXPECT_LT(before, 2 * draws * 8 / 10) << before;  // residuals: far below 95 %
  EXPECT_GE(after, 2 * draws * 9 / 10) << after;
}

TEST(RampIntervals, OpenEndsStayOpenAndBothErrorsAreTold) {
  const Simulation leaf = *simulate_quiet(plain::ramp_settings(false)),
                   empty = *simulate_quiet(plain::ramp_settings(true));
  Draw d = draw(leaf, empty, 7);
  ASSERT_EQ(d.fit.TPU.status, Status::lower_bound);
  const Estimate TPU = d.fit.TPU, Vcmax = d.fit.Vcmax;
  std::vector<std::size_t> rows(d.ramp.A.size());
  std::iota(rows.begin(), rows.end(), 0);
  widen_to_ramp_errors(d.ramp, rows, d.fit);
  EXPECT_EQ(d.fit.TPU.low, TPU.low);
  EXPECT_FALSE(d.fit.TPU.high);
  EXPECT_EQ(d.fit.Vcmax.value, Vcmax.value);
  EXPECT_GT(*d.fit.Vcmax.se, 2 * *Vcmax.se);
  ASSERT_FALSE(d.fit.notes.empty());
  EXPECT_EQ(d.fit.notes.back().about, "ramp-intervals");
  EXPECT_NE(d.fit.notes.back().text.find("residuals alone"), std::string::npos);
}

TEST(RampIntervals, TheLevelOfTheFitIsKept) {
  const Simulation leaf = *simulate_quiet(plain::ramp_settings(false)),
                   empty = *simulate_quiet(plain::ramp_settings(true));
  Draw wide = draw(leaf, empty, 7), narrow = wide;
  std::vector<std::size_t> rows(wide.ramp.A.size());
  std::iota(rows.begin(), rows.end(), 0);
  widen_to_ramp_errors(wide.ramp, rows, wide.fit);
  widen_to_ramp_errors(narrow.ramp, rows, narrow.fit, {0.8, false});
  const auto width = [](const Estimate& e) { return *e.high - *e.low; };
  // Normal quantiles of 97.5 and 90 %: 1.95996 and 1.28155.
  EXPECT_NEAR(width(wide.fit.Vcmax) / width(narrow.fit.Vcmax), 1.95996 / 1.28155, 1e-4);
  EXPECT_EQ(narrow.fit.interval_kind, "80 % of ramp errors");
}

TEST(RampIntervals, RdayAsAFractionOfVcmaxKeepsItsIntervalsAndSaysSo) {
  const Simulation leaf = *simulate_quiet(plain::ramp_settings(false)),
                   empty = *simulate_quiet(plain::ramp_settings(true));
  Draw d = draw(leaf, empty, 7);
  const Estimate Rday = d.fit.Rday;
  std::vector<std::size_t> rows(d.ramp.A.size());
  std::iota(rows.begin(), rows.end(), 0);
  widen_to_ramp_errors(d.ramp, rows, d.fit, {0.95, true});
  EXPECT_EQ(d.fit.Rday.se, Rday.se);
  EXPECT_NE(d.fit.notes.back().text.find("fraction of Vcmax"), std::string::npos);
}

TEST(RampIntervals, WhereTheyCannotBeCarriedItIsSaid) {
  const Simulation leaf = *simulate_quiet(plain::ramp_settings(false)),
                   empty = *simulate_quiet(plain::ramp_settings(true));
  Draw d = draw(leaf, empty, 7);
  const Estimate Vcmax = d.fit.Vcmax;
  widen_to_ramp_errors(d.ramp, {}, d.fit);  // no row of the curve is a row of the ramp
  EXPECT_EQ(d.fit.Vcmax.se, Vcmax.se);
  ASSERT_FALSE(d.fit.notes.empty());
  EXPECT_NE(d.fit.notes.back().text.find("too short for a ramp"), std::string::npos);
}

}  // namespace
}  // namespace leafwright
