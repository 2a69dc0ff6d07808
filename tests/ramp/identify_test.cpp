// The gas path against records whose path is known in closed form (simulated.hpp).
#include "ramp/identify.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "ramp/offset_table.hpp"
#include "ramp/record_programme.hpp"
#include "ramp/simulated.hpp"

namespace leafwright {
namespace {

using ramp_test::body_only;
using ramp_test::simulated;
using ramp_test::Truth;
using ramp_test::up_ramp;

bool has(const Notes& notes, const std::string& about) {
  return std::any_of(notes.begin(), notes.end(),
                     [&](const Note& note) { return note.about == about; });
}

GasPath found(const std::vector<RampRecord>& records, const IdentifyOptions& options = {}) {
  const auto path = identify(records, options);
  EXPECT_TRUE(path) << path.error().text();
  return path ? *path : GasPath{};
}

void expect_truth(const GasPath& path, const Truth& truth, double tolerance) {
  ASSERT_TRUE(path.lag_s && path.delay_s && path.mixing_s);
  EXPECT_NEAR(path.lag_s->value, truth.delay + truth.mixing, tolerance);
  EXPECT_NEAR(path.delay_s->value, truth.delay, 5 * tolerance);
  EXPECT_NEAR(path.mixing_s->value, truth.mixing, 5 * tolerance);
}

TEST(Identify, OneRampWithHoldsGivesLagSplitAndOffsets) {
  const Truth truth = up_ramp();
  const GasPath path = found({simulated(truth)});
  expect_truth(path, truth, 1e-3);
  EXPECT_NEAR(path.offset[0], 0.4, 2e-3);
  EXPECT_NEAR(path.offset[1], -1.5, 0.01);
  EXPECT_NEAR(path.offset[2], 0.8, 0.01);
  ASSERT_TRUE(path.conditions.rate);
  EXPECT_NEAR(*path.conditions.rate * 60, 200, 0.1);
}

TEST(Identify, ADownRampAndAnyRateGiveTheSamePath) {
  for (const auto& truth : {up_ramp(600, 20, 150), up_ramp(50, 1000, 100), up_ramp(50, 1000, 400)})
    expect_truth(found({simulated(truth)}), truth, 2e-3);
}

TEST(Identify, RowsAtUnevenTimesAreAsGood) {
  const Truth truth = up_ramp();
  RampRecord record = simulated(truth), uneven = record;
  for (auto series : {&RampRecord::time_s, &RampRecord::CO2r, &RampRecord::CO2s, &RampRecord::flow})
    (uneven.*series).clear();
  for (std::size_t i = 0; i < record.size(); ++i) {
    const double time = record.time_s[i] + 0.3 * std::sin(1.7 * static_cast<double>(i));
    const double C = ramp_test::matched_at(truth, time), x = C / 1000;
    uneven.time_s.push_back(time);
    uneven.CO2r.push_back(ramp_test::reference_at(truth, time));
    uneven.CO2s.push_back(C + 0.4 - 1.5 * x + 0.8 * x * x);
    uneven.flow.push_back(350);
  }
  expect_truth(found({uneven}), truth, 3e-3);
}

TEST(Identify, PathsThatAreEquallyLateOrLateTheOtherWay) {
  for (const double delay : {-4.5, -7.25}) {
    Truth truth = up_ramp();
    truth.delay = delay;
    expect_truth(found({simulated(truth)}), truth, 2e-3);
  }
}

TEST(Identify, WithoutHoldsThereIsNoLag) {
  for (const double noise : {0.0, 0.1, 0.3}) {
    const GasPath path = found({simulated(body_only(), noise, 3)});
    EXPECT_FALSE(path.lag_s) << noise;
    EXPECT_FALSE(path.mixing_s);
    EXPECT_TRUE(has(path.notes, "lag-not-identified"));
  }
}

TEST(Identify, AnUpAndADownRampWithoutHoldsTellTheLag) {
  const Truth up = body_only();
  Truth down = up;
  down.start = 1000 + 200 * 200.0 / 60;
  down.corners = {{-200, -200.0 / 60}};
  const GasPath path = found({simulated(up), simulated(down, 0, 0, "down.csv")});
  ASSERT_TRUE(path.lag_s);
  EXPECT_NEAR(path.lag_s->value, 5.7, 2e-3);
  EXPECT_FALSE(path.mixing_s) << "no kink shows the split";
  EXPECT_TRUE(has(path.notes, "split-not-identified"));
  EXPECT_FALSE(path.conditions.rate);
}

TEST(Identify, ARampThatTurnsRoundIsAPair) {
  Truth truth = up_ramp(50, 1000, 200, 40);
  const double top = truth.corners[1].time;
  truth.corners[1].slope_change *= 2;
  truth.corners.push_back({2 * top - 40, truth.corners[0].slope_change});
  truth.seconds = 2 * top;
  const GasPath path = found({simulated(truth)});
  expect_truth(path, truth, 2e-3);
  EXPECT_TRUE(has(path.notes, "turns"));
  EXPECT_FALSE(path.conditions.rate);
}

TEST(Identify, TwoFlowsGiveTheFlowLawAndTellTheLeak) {
  std::vector<RampRecord> records;
  // 40 mL chamber and 10 mL inlet at 98 kPa, 22 degC hold 1996.7 umol; 1 s is drawn elsewhere.
  const double umol = 1e6 * 98e3 * 50e-6 / (8.314462618 * 295.15);
  for (const double flow : {350.0, 500.0}) {
    Truth truth = up_ramp();
    truth.flow = flow;
    truth.mixing = 0.8 * umol / flow;
    truth.delay = 0.2 * umol / flow - 6;
    truth.leak = 0.45;
    RampRecord record = simulated(truth, 0, 0, flow > 400 ? "b.csv" : "a.csv");
    record.instrument.chamber_volume = 40;
    records.push_back(record);
  }
  const GasPath path = found(records);
  ASSERT_TRUE(path.flow_law);
  EXPECT_NEAR(path.flow_law->a.value, -6, 0.01);
  EXPECT_NEAR(path.flow_law->b.value / umol, 1, 2e-3);
  ASSERT_TRUE(path.flow_law->null_flow);
  EXPECT_NEAR(path.flow_law->null_flow->value, umol / 6, 1);
  ASSERT_TRUE(path.flow_law->inlet_volume);
  EXPECT_NEAR(path.flow_law->inlet_volume->value, 10, 0.2);
  ASSERT_TRUE(path.leak);
  EXPECT_NEAR(path.leak->K.value, 0.45, 0.02);
  EXPECT_TRUE(path.leak_apart);
  EXPECT_NEAR(path.offset[0] + path.offset[1] * 0.5 + path.offset[2] * 0.25, -0.15, 0.02);
}

TEST(Identify, OneFlowHasOffsetAndLeakInOne) {
  Truth truth = up_ramp();
  truth.leak = 0.45;
  const GasPath path = found({simulated(truth)});
  EXPECT_FALSE(path.leak_apart);
  EXPECT_TRUE(has(path.notes, "offset-and-leak"));
  EXPECT_NEAR(path.offset[1], -1.5 - 0.45 / 350 * 1000, 0.02);
}

TEST(Identify, AveragingOfOneChannelIsTakenOut) {
  const Truth truth = up_ramp();
  RampRecord record = simulated(truth);
  // CO2s as the mean over the 4 s before its stamp, by a sum of 400 parts.
  for (std::size_t i = 0; i < record.size(); ++i) {
    double sum = 0;
    for (int part = 0; part < 400; ++part) {
      const double C = ramp_test::matched_at(truth, record.time_s[i] - 4 + (part + 0.5) / 100),
                   x = C / 1000;
      sum += (C + 0.4 - 1.5 * x + 0.8 * x * x) / 400;
    }
    record.CO2s[i] = sum;
  }
  record.instrument.channels = {{"CO2s", 4, Stamp::end}};
  expect_truth(found({record}), truth, 2e-3);
}

TEST(Identify, WaterThatTheChamberAddsDilutes) {
  const Truth truth = up_ramp();
  RampRecord record = simulated(truth);
  record.H2Or.assign(record.size(), 15);
  record.H2Os.assign(record.size(), 15.5);
  for (std::size_t i = 0; i < record.size(); ++i) {
    const double C = ramp_test::matched_at(truth, record.time_s[i]);
    record.CO2s[i] += C * ((1 - 0.0155) / (1 - 0.015) - 1);
  }
  const GasPath path = found({record});
  expect_truth(path, truth, 3e-3);
  EXPECT_NEAR(path.offset[1], -1.5, 0.01);
  EXPECT_TRUE(has(path.notes, "water-differs"));
}

TEST(Identify, NoisyDrawsAreUnbiasedAndTheirErrorsHold) {
  // 40 draws: the ratio of reported to true error is itself known to 11 % only (400 draws are in
  // docs/methods-gas-path.md); the wide bound here catches a wrong formula, not a small change.
  constexpr std::uint32_t draws = 40;
  const Truth truth = up_ramp();
  double sum = 0, squares = 0, reported = 0;
  for (std::uint32_t seed = 0; seed < draws; ++seed) {
    const GasPath path = found({simulated(truth, 0.1, seed)});
    ASSERT_TRUE(path.lag_s);
    const double error = path.lag_s->value - 5.7;
    sum += error;
    squares += error * error;
    reported += path.lag_s->se * path.lag_s->se;
  }
  const double bias = sum / draws, sd = std::sqrt(squares / draws - bias * bias);
  EXPECT_LT(std::abs(bias), 0.006);
  EXPECT_LT(sd, 0.012);
  EXPECT_NEAR(std::sqrt(reported / draws) / sd, 1, 0.3);
}

TEST(Identify, AnEmptyChamberThatIsNotEmptyIsRefused) {
  RampRecord leaf = simulated(up_ramp());
  for (double& S : leaf.CO2s) S -= 0.73 * 30 * (S - 40) / (S + 200);  // A(C) of a leaf
  const auto by_CO2 = identify({leaf});
  ASSERT_FALSE(by_CO2);
  EXPECT_EQ(by_CO2.error().code, ErrorCode::refused);
  EXPECT_NE(by_CO2.error().text().find("uptake"), std::string::npos) << by_CO2.error().text();
  IdentifyOptions forced;
  forced.refuse_leaf = false;
  EXPECT_TRUE(has(found({leaf}, forced).notes, "looks-like-a-leaf"));

  RampRecord moist = simulated(up_ramp());
  moist.H2Or.assign(moist.size(), 15);
  moist.H2Os.assign(moist.size(), 17);
  const auto by_water = identify({moist});
  ASSERT_FALSE(by_water);
  EXPECT_EQ(by_water.error().code, ErrorCode::refused);
  EXPECT_NE(by_water.error().text().find("water"), std::string::npos);
}

TEST(Identify, ALargeStraightOffsetIsToldNotRefused) {
  Truth truth = up_ramp();
  truth.c0 = 4;
  truth.c1 = 2;
  EXPECT_TRUE(has(found({simulated(truth)}).notes, "offset-large"));
}

TEST(Identify, AFlowThatStepsIsRefusedWithItsPlace) {
  RampRecord record = simulated(up_ramp());
  for (std::size_t i = 150; i < record.size(); ++i) record.flow[i] = 400;
  const auto path = identify({record});
  ASSERT_FALSE(path);
  EXPECT_EQ(path.error().code, ErrorCode::refused);
  EXPECT_NE(path.error().text().find("steps from 350 to 400"), std::string::npos);
  EXPECT_NE(path.error().text().find("at 150 s"), std::string::npos) << path.error().text();
}

TEST(Identify, MissingRowsInMidRampCostNoBias) {
  const Truth truth = up_ramp();
  RampRecord record = simulated(truth);
  const auto cut = [](std::vector<double>& v) { v.erase(v.begin() + 150, v.begin() + 170); };
  for (auto series : {&RampRecord::time_s, &RampRecord::CO2r, &RampRecord::CO2s, &RampRecord::flow,
                      &RampRecord::Patm, &RampRecord::Tair})
    cut(record.*series);
  record.rows.erase(record.rows.begin() + 150, record.rows.begin() + 170);
  record.CO2s[60] = record.CO2r[250] = not_given;
  expect_truth(found({record}), truth, 2e-3);
}

TEST(Identify, StandingAirOrNothingIsAnError) {
  Truth still = up_ramp();
  still.corners.clear();
  const auto path = identify({simulated(still, 0.1)});
  ASSERT_FALSE(path);
  EXPECT_EQ(path.error().code, ErrorCode::unfit);
  EXPECT_EQ(identify({}).error().code, ErrorCode::usage);
}

TEST(Programme, SaysHoldsRateTurnsAndSteps) {
  const Programme ramp = programme_of(simulated(up_ramp(), 0.1));
  EXPECT_NEAR(ramp.hold_at_start(), 40, 6);
  EXPECT_NEAR(ramp.hold_at_end(), 40, 12);
  ASSERT_TRUE(ramp.rate);
  EXPECT_FALSE(ramp.turns);
  EXPECT_FALSE(ramp.steps);
}

TEST(Filter, BothInterpolationsAreExactOnAStraightLine) {
  std::vector<double> time, value, at;
  for (int i = 0; i < 200; ++i) {
    time.push_back(i);
    value.push_back(3 * i);
  }
  at = {150.25, 170.5};
  for (const Interpolation how : {Interpolation::linear, Interpolation::cubic}) {
    const PathFilter filter(time, value, how);
    const auto y = filter.apply(1.25, 4, at);
    EXPECT_NEAR(y[0], 3 * (150.25 - 5.25), 1e-9);
    EXPECT_NEAR(filter.apply(1.25, 4, at, 6)[1], 3 * (170.5 - 5.25), 1e-9);
    EXPECT_NEAR(filter.apply(1.25, 0, at)[0], 3 * 149.0, 1e-9);
  }
}

}  // namespace
}  // namespace leafwright
