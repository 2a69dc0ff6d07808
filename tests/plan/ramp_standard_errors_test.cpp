// Reported standard errors of ramps against the scatter of many simulated draws, for the two
// corrections whose errors are not only those of the leaf's record: subtract looks its differential
// up in the empty record, joint takes the offset's slope and curvature from it.
#include <gtest/gtest.h>

#include <cmath>
#include <numeric>
#include <vector>

#include "fit/fit.hpp"
#include "plan/simulated_record.hpp"
#include "ramp/identify.hpp"
#include "ramp/ramp_intervals.hpp"
#include "support/plain_ramp.hpp"

namespace leafwright {
namespace {

/// With noise, drift and an offset.
SimulatorSettings settings(bool empty) {
  SimulatorSettings s = plain::ramp_settings(empty);
  s.offset = {0.4, -1.5, 0.8};
  s.noise.CO2 = 0.1;
  s.noise.drift = 0.03;  // as the path's errors assume
  s.noise.drift_time = 400;
  return s;
}

/// One parameter over the draws.
struct Draws {
  std::vector<double> value, se;

  [[nodiscard]] double mean_se() const {
    return std::accumulate(se.begin(), se.end(), 0.0) / static_cast<double>(se.size());
  }
  [[nodiscard]] double sd() const {
    const auto n = static_cast<double>(value.size());
    const double mean = std::accumulate(value.begin(), value.end(), 0.0) / n;
    double sum = 0;
    for (const double v : value) sum += (v - mean) * (v - mean);
    return std::sqrt(sum / (n - 1));
  }
  void add(double v, double e) {
    value.push_back(v);
    se.push_back(e);
  }
};

struct Both {
  Draws Vcmax, J;
};

CorrectedRamp ramp_of(const Simulation& leaf, const Simulation& empty, std::uint64_t seed,
                      CorrectionMethod method) {
  const RampRecord of_empty = simulated_record(with_noise(empty, seed, 1));
  const RampRecord of_leaf = simulated_record(with_noise(leaf, seed, 2));
  const GasPath path = *identify({of_empty});
  CorrectionInput input;
  input.leaf = &of_leaf;
  input.path = &path;
  input.empties = {&of_empty, 1};
  input.air.gbw_is = leaf.settings.stomata.layer.is;
  input.air.stomatal_ratio = 1;
  CorrectionOptions options;
  options.method = method;
  options.drift_sd = leaf.settings.noise.drift;
  options.drift_time_s = leaf.settings.noise.drift_time;
  options.tau_error = 0;  // the simulated volume is exact
  if (method == CorrectionMethod::joint) {
    const C3Leaf start = {80, 150, INFINITY, 0.5};
    options.joint = JointOptions{c3_ramp_model(start, leaf.settings.leaf.kinetics, {}, true)};
  }
  return *correct(input, options);
}

void fit_points(const CorrectedRamp& ramp, double Patm, Both& out) {
  Curve curve;
  curve.curve_id = "ramp";
  for (std::size_t i = 0; i < ramp.A.size(); ++i) {
    CurveRow row;
    row.row = i;
    row.A = ramp.A[i];
    row.Ci = ramp.Ci[i];
    row.Tleaf = 25;
    row.Patm = Patm;
    row.use = ramp.use[i] != 0;
    curve.rows.push_back(row);
  }
  C3FitOptions options;
  options.kinetics = *find_kinetics("bernacchi-2001");
  options.limitations = LimitationSet{true, true, false};
  options.intervals = IntervalMethod::none;
  options.budget = false;
  CurveFit fit = *fit_curve(curve, options);
  fit.Vcmax.se.reset();  // the ramp's own errors alone
  fit.J.se.reset();
  std::vector<std::size_t> rows(ramp.A.size());
  std::iota(rows.begin(), rows.end(), 0);
  widen_to_ramp_errors(ramp, rows, fit);
  out.Vcmax.add(*fit.Vcmax.value, fit.Vcmax.se.value_or(0));
  out.J.add(*fit.J.value, fit.J.se.value_or(0));
}

Both draws_of(CorrectionMethod method, std::uint64_t draws) {
  const Simulation leaf = *simulate_quiet(settings(false)), empty = *simulate_quiet(settings(true));
  Both out;
  for (std::uint64_t seed = 1; seed <= draws; ++seed) {
    const CorrectedRamp ramp = ramp_of(leaf, empty, seed, method);
    if (!ramp.joint) {
      fit_points(ramp, leaf.settings.air.Patm, out);
      continue;
    }
    for (const JointParameter& p : ramp.joint->parameters) {
      if (p.symbol == "Vcmax") out.Vcmax.add(p.value, p.se);
      if (p.symbol == "J") out.J.add(p.value, p.se);
    }
  }
  return out;
}

// The goal, 20 %. 200 draws tell an SD to 5 % (1/sqrt(2 * 199)); 400 draws of more cases are in
// docs/validation-ramps-accuracy.md. Without what the empty record adds, the ratios of Vcmax here
// are 0.72 (subtract) and 0.78 (joint).
void expect_honest(const Draws& draws, const char* what) {
  const double ratio = draws.mean_se() / draws.sd();
  EXPECT_GT(ratio, 0.8) << what << ": " << draws.mean_se() << " against " << draws.sd();
  EXPECT_LT(ratio, 1.2) << what << ": " << draws.mean_se() << " against " << draws.sd();
}

TEST(RampStandardErrors, OfSubtractCountTheEmptyRecordsNoise) {
  const Both found = draws_of(CorrectionMethod::subtract, 200);
  expect_honest(found.Vcmax, "Vcmax");
  expect_honest(found.J, "J");
}

TEST(RampStandardErrors, OfJointCountTheShapeOfTheOffset) {
  const Both found = draws_of(CorrectionMethod::joint, 200);
  expect_honest(found.Vcmax, "Vcmax");
  expect_honest(found.J, "J");
}

}  // namespace
}  // namespace leafwright
