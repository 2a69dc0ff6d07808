// The simulator beside closed forms and beside the flux equations of air/. An independent
// simulation of whole records: tests/published/simulator_test.cpp.
#include "plan/simulator.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "air/flux.hpp"

namespace leafwright {
namespace {

SimulatorSettings leaf_settings() {
  SimulatorSettings s;
  s.leaf.c3 = {68, 124, 8.9, 0.9};
  s.leaf.kinetics = {405, 278, 210, 42.75, 711};
  return s;
}

SimulatorSettings empty_settings() {
  SimulatorSettings s;
  s.empty = true;
  return s;
}

double offset(const std::array<double, 3>& c, double CO2) {
  return c[0] + c[1] * CO2 / 1000 + c[2] * CO2 * CO2 / 1e6;
}

/// Index of the row at `t`, rows being `interval` apart.
std::size_t row_at(const Simulation& s, double t) {
  return static_cast<std::size_t>(std::lround(t / s.settings.interval));
}

// Chamber and cell are two mixed volumes behind dead times: the textbook response to a step.
TEST(Simulator, AnEmptyChamberAnswersAStepAsInTheTextbook) {
  SimulatorSettings s = empty_settings();
  s.source.shape = SourceShape::steps;
  s.source.steps = {400, 100};
  s.source.step_length = 60;
  s.source.time_constant = 0;
  s.offset = {0, 0, 0};
  s.step = 0.01;
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  const double d = run->lags.inlet + run->lags.sample_line;
  const double a = run->lags.chamber, b = run->lags.sample_cell;
  for (double t = 64; t < 115; t += 1) {
    const double x = t - 60 - d;
    const double left = (a * std::exp(-x / a) - b * std::exp(-x / b)) / (a - b);
    EXPECT_NEAR(column(*run, "CO2s")[row_at(*run, t)], 100 + 300 * left, 0.1) << t;
  }
}

TEST(Simulator, TheBodyOfAnEmptyRampIsOffsetMinusRateTimesLag) {
  for (const double end : {1100.0, 20.0}) {
    SimulatorSettings s = empty_settings();
    s.source.start = end > 500 ? 60 : 1100;
    s.source.end = end;
    s.step = 0.02;
    const auto run = simulate_quiet(s);
    ASSERT_TRUE(run) << run.error().text();
    const double rate = (end > 500 ? 1 : -1) * s.source.rate / 60;
    for (double t = 200; t < 380; t += 30) {
      const double S = column(*run, "CO2s")[row_at(*run, t)];
      const double R = column(*run, "CO2r")[row_at(*run, t)];
      const double clean = R - rate * run->lags.difference;
      EXPECT_NEAR(S - R, offset(s.offset, clean) - rate * run->lags.difference, 1e-6);
    }
  }
}

TEST(Simulator, WallsMakeARampLaterByTheirCapacity) {
  SimulatorSettings s = empty_settings();
  s.air.wall_CO2 = 0.3;
  s.air.wall_time = 8;
  s.offset = {0, 0, 0};
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  // A long ramp fills chamber and wall at the same speed: n (1 + kappa) r = u (Cin - C).
  const double S = column(*run, "CO2s")[row_at(*run, 400)];
  const double R = column(*run, "CO2r")[row_at(*run, 400)];
  const double lag = run->lags.difference + 0.3 * run->lags.chamber;
  EXPECT_NEAR((R - S) / (s.source.rate / 60), lag, 1e-3);
}

TEST(Simulator, ALeakMixesAmbientAirIn) {
  SimulatorSettings s = empty_settings();
  s.source.shape = SourceShape::hold;
  s.source.start = 1200;
  s.air.leak = 0.6;
  s.air.water_leak = 3;
  s.offset = {0, 0, 0};
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  const double u = s.air.flow;
  EXPECT_NEAR(run->truth.C.back(), (u * 1200 + 0.6 * s.air.CO2_ambient) / (u + 0.6), 1e-6);
  EXPECT_NEAR(run->truth.W.back(), (u * s.air.H2Or + 3 * s.air.H2O_ambient) / (u + 3), 1e-9);
}

/// The flux equations of air/ on one row.
FluxResult fluxes(const Simulation& run, std::size_t row) {
  const SimulatorSettings& s = run.settings;
  FluxInput in;
  in.flow = column(run, "flow")[row];
  in.area = s.area;
  in.CO2r = column(run, "CO2r")[row];
  in.CO2s = column(run, "CO2s")[row];
  in.H2Or = column(run, "H2Or")[row];
  in.H2Os = column(run, "H2Os")[row];
  in.Tleaf = s.air.Tleaf;
  in.Patm = s.air.Patm;
  in.gbw = s.stomata.layer.gbw;
  FluxOptions options;
  options.gbw_is = s.stomata.layer.is;
  options.stomatal_ratio = s.stomata.layer.stomatal_ratio;
  if (s.air.leak > 0) options.leak = Leak{s.air.leak, s.air.CO2_ambient};
  return flux(in, options).value();
}

// At rest a record must give back the leaf's own A, Ci and gsw by the steady equations, and that A
// must be the model's at that Ci.
TEST(Simulator, ALeafAtRestAgreesWithTheFluxEquations) {
  for (const double CO2 : {30.0, 60.0, 250.0, 420.0, 1500.0}) {
    for (const GbwIs is : {GbwIs::whole_leaf, GbwIs::per_side}) {
      SimulatorSettings s = leaf_settings();
      s.source.shape = SourceShape::hold;
      s.source.start = CO2;
      s.offset = {0, 0, 0};
      s.air.leak = 0.4;
      s.stomata.layer.is = is;
      s.stomata.layer.stomatal_ratio = 0.6;
      s.stomata.response = 0.4;
      const auto run = simulate_quiet(s);
      ASSERT_TRUE(run) << run.error().text();
      const FluxResult f = fluxes(*run, 20);
      EXPECT_NEAR(f.A, run->truth.A[20], 1e-7) << CO2;
      EXPECT_NEAR(f.E, run->truth.E[20], 1e-9);
      EXPECT_NEAR(f.leaf.Ci.value(), run->truth.Ci[20], 1e-6);
      EXPECT_NEAR(f.leaf.gsw.value(), run->truth.gsw[20], 1e-6);
      EXPECT_NEAR(run->truth.gsw[20], 240 * std::exp(-0.4 * (run->truth.C[20] - 400) / 1000), 1e-6);
      EXPECT_NEAR(f.A, c3_assimilation(*f.leaf.Ci, s.leaf.c3, s.leaf.kinetics).A, 1e-6);
    }
  }
}

TEST(Simulator, AC4LeafAtRestAgreesToo) {
  for (const bool linear : {false, true}) {
    SimulatorSettings s = leaf_settings();
    s.leaf.c4 = true;
    s.leaf.as_c4.leaf = {85, 58, 34, std::numeric_limits<double>::infinity(), 0.8};
    s.leaf.as_c4.kinetics.Kc = 650;
    s.leaf.as_c4.kinetics.Ko = 450;
    s.leaf.as_c4.kinetics.Kp = 80;
    s.leaf.as_c4.kinetics.gamma_star = 0.000193;
    s.leaf.as_c4.linear = linear;
    s.leaf.as_c4.pressure = s.air.Patm;
    s.source.shape = SourceShape::hold;
    s.source.start = 90;
    s.offset = {0, 0, 0};
    const auto run = simulate_quiet(s);
    ASSERT_TRUE(run) << run.error().text();
    const FluxResult f = fluxes(*run, 20);
    EXPECT_NEAR(f.A, run->truth.A[20], 1e-6);
    EXPECT_NEAR(f.leaf.Ci.value(), run->truth.Ci[20], 1e-6);
    // Partial pressure: at 97.2 kPa 1 umol mol-1 is 0.972 ubar.
    const double Cm = 0.972 * *f.leaf.Ci;
    const C4Leaf& leaf = s.leaf.as_c4.leaf;
    const C4Kinetics& k = s.leaf.as_c4.kinetics;
    EXPECT_NEAR(
        f.A, linear ? c4_enzyme_limited_linear(Cm, leaf, k) : c4_assimilation(Cm, leaf, k).A, 1e-6);
  }
}

// n dC/dt = u Cin - (u + E s) C - A s on a moving record, with the rate by central differences.
TEST(Simulator, AMovingRecordObeysTheChambersBalance) {
  SimulatorSettings s = leaf_settings();
  s.interval = 0.1;
  s.step = 0.02;
  s.stomata.response = 0.5;
  s.stomata.response_time = 120;
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  const TrueSeries& t = run->truth;
  const Source source(source_programme(s.source).value());
  const double u = s.air.flow * 1e-6, area = s.area * 1e-4;
  // Only the body of the ramp: behind a kink the differences are too coarse, not the record.
  for (std::size_t i = 900; i + 1 < 4300; i += 97) {
    const double dC = (t.C[i + 1] - t.C[i - 1]) / 0.2;
    const double out = u + t.E[i] / 1000 * area;
    const double in = source.at(t.time_s[i] - run->lags.inlet);
    EXPECT_NEAR(run->moles * dC, u * in - out * t.C[i] - t.A[i] * area, 2e-6 * u * t.C[i]) << i;
    const double dW = (t.W[i + 1] - t.W[i - 1]) / 0.2;
    EXPECT_NEAR(run->moles * dW, u * s.air.H2Or - out * t.W[i] + t.E[i] * area, 1e-6 * u * t.W[i]);
  }
}

TEST(Simulator, ABiochemicalLagFollowsItsOwnTimeConstants) {
  SimulatorSettings s = leaf_settings();
  s.interval = 0.1;
  s.lag_up = 25;
  s.lag_down = 6;
  s.source.shape = SourceShape::there_and_back;
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  const TrueSeries& t = run->truth;
  int up = 0, down = 0;
  for (std::size_t i = 600; i + 1 < t.A.size(); i += 53) {
    const double gap = demand(s.leaf, t.Ci[i]) - t.A[i];
    const double slope = (t.A[i + 1] - t.A[i - 1]) / 0.2;
    if (std::abs(gap) < 0.05) continue;
    ++(gap > 0 ? up : down);
    EXPECT_NEAR(gap / slope, gap > 0 ? 25 : 6, 0.1) << t.time_s[i];
  }
  EXPECT_GT(up, 20);
  EXPECT_GT(down, 20);
}

TEST(Simulator, StomataDriftAndFollowCO2WithTheirTimeConstant) {
  SimulatorSettings s = leaf_settings();
  s.stomata.drift = -0.02;
  s.stomata.response_time = 0;
  const auto run = simulate_quiet(s);
  ASSERT_TRUE(run) << run.error().text();
  EXPECT_NEAR(run->truth.gsw[300], 240 * (1 - 0.02 * 5), 1e-9);
  s.stomata.drift = 0;
  s.stomata.response = 1;
  s.stomata.response_time = 50;
  s.source.shape = SourceShape::steps;
  s.source.steps = {400, 900};
  s.source.step_length = 400;
  const auto step = simulate_quiet(s);
  ASSERT_TRUE(step) << step.error().text();
  const TrueSeries& t = step->truth;
  // C has settled but for the slow change of A: target is nearly constant, the gap falls as exp.
  const auto gap = [&](std::size_t i) { return t.gsw[i] - 240 * std::exp(-(t.C[i] - 400) / 1000); };
  EXPECT_NEAR(gap(500) / gap(450), std::exp(-1.0), 0.01);
}

// Halving the step must not move the record: this is the stated error of the integration.
TEST(Simulator, HalvingTheStepChangesCByLessThanAThousandth) {
  SimulatorSettings s = leaf_settings();
  const auto coarse = simulate_quiet(s);
  s.step /= 2;
  const auto fine = simulate_quiet(s);
  ASSERT_TRUE(coarse && fine);
  double most = 0;
  for (std::size_t i = 0; i < coarse->truth.C.size(); ++i) {
    most = std::max(most, std::abs(coarse->truth.C[i] - fine->truth.C[i]));
    most = std::max(most, std::abs(column(*coarse, "CO2s")[i] - column(*fine, "CO2s")[i]));
    most = std::max(most, std::abs(column(*coarse, "CO2r")[i] - column(*fine, "CO2r")[i]));
  }
  EXPECT_LT(most, 1e-3);
  EXPECT_GT(most, 0);
}

double sd(const std::vector<double>& a, const std::vector<double>& b) {
  const auto n = static_cast<double>(a.size());
  double mean = 0, sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) mean += (a[i] - b[i]) / n;
  for (std::size_t i = 0; i < a.size(); ++i) sum += std::pow(a[i] - b[i] - mean, 2);
  return std::sqrt(sum / (n - 1));
}

TEST(Simulator, NoiseHasTheStatedSpreadAndItsOwnStreams) {
  SimulatorSettings s = empty_settings();
  s.noise = {0.2, 0, 0, 300, 0.01, 0.02, 0.1};
  s.interval = 0.5;
  const auto quiet = simulate_quiet(s).value();
  const Simulation one = with_noise(quiet, 3);
  const auto n = static_cast<double>(one.truth.time_s.size());
  const auto spread = [&](const char* symbol) {
    return sd(column(one, symbol), column(quiet, symbol));
  };
  const double tolerance = 4 / std::sqrt(2 * n);
  EXPECT_NEAR(spread("CO2r") / (0.2 * std::sqrt(2)), 1, tolerance);  // SD over 1 s, rows of 0.5 s
  EXPECT_NEAR(spread("CO2s") / (0.2 * std::sqrt(2)), 1, tolerance);
  EXPECT_NEAR(spread("flow") / 0.1, 1, tolerance);
  EXPECT_NEAR(spread("Tleaf") / 0.02, 1, tolerance);
  // The noise of one cell does not depend on what else is noisy.
  SimulatorSettings alone = s;
  alone.noise = {0.2, 0, 0, 300, 0, 0, 0};
  alone.seed = 3;
  EXPECT_EQ(column(simulate(alone).value(), "CO2s"), column(one, "CO2s"));
  EXPECT_NE(column(with_noise(quiet, 4), "CO2s"), column(one, "CO2s"));
  EXPECT_NE(column(with_noise(quiet, 3, 1), "CO2s"), column(one, "CO2s"));
  EXPECT_EQ(column(with_noise(quiet, 3), "CO2s"), column(one, "CO2s"));
  SimulatorSettings other = alone;
  other.curve = "another";
  EXPECT_NE(column(simulate(other).value(), "CO2s"), column(one, "CO2s"));
}

TEST(Simulator, CommonNoiseCancelsBetweenTheCells) {
  SimulatorSettings s = empty_settings();
  s.noise = {0, 0.5, 0, 300, 0, 0, 0};
  const auto quiet = simulate_quiet(s).value();
  const Simulation noisy = with_noise(quiet, 1);
  for (std::size_t i = 0; i < noisy.truth.time_s.size(); i += 13) {
    EXPECT_NEAR(column(noisy, "CO2s")[i] - column(noisy, "CO2r")[i],
                column(quiet, "CO2s")[i] - column(quiet, "CO2r")[i], 1e-9);
  }
  EXPECT_NEAR(sd(column(noisy, "CO2s"), column(quiet, "CO2s")), 0.5, 0.08);
}

// Stationary first-order process: variance sd^2, correlation exp(-h/tau), over many draws.
TEST(Simulator, DriftIsStationaryWithItsCorrelationTime) {
  SimulatorSettings s = empty_settings();
  s.source.shape = SourceShape::hold;
  s.source.hold_before = 60;
  s.noise = {0, 0, 0.4, 30, 0, 0, 0};
  const auto quiet = simulate_quiet(s).value();
  double first = 0, last = 0, product = 0;
  const int draws = 2000;
  for (int i = 0; i < draws; ++i) {
    const Simulation noisy = with_noise(quiet, 1, static_cast<std::uint32_t>(i));
    const double a = column(noisy, "CO2s")[10] - column(quiet, "CO2s")[10];
    const double b = column(noisy, "CO2s")[40] - column(quiet, "CO2s")[40];
    first += a * a / draws;
    last += b * b / draws;
    product += a * b / draws;
  }
  EXPECT_NEAR(std::sqrt(first), 0.4, 0.03);
  EXPECT_NEAR(std::sqrt(last), 0.4, 0.03);
  EXPECT_NEAR(product / (0.4 * 0.4), std::exp(-1.0), 0.1);
}

TEST(Simulator, AFlowGainIsRecordedNotFelt) {
  SimulatorSettings s = leaf_settings();
  const auto plain = simulate_quiet(s).value();
  s.air.flow_gain = 1.01;
  const auto off = simulate_quiet(s).value();
  EXPECT_EQ(column(off, "CO2s"), column(plain, "CO2s"));
  EXPECT_NEAR(column(off, "flow")[5], 1.01 * column(plain, "flow")[5], 1e-9);
}

TEST(Simulator, WhatHasNoPhysicsIsRefused) {
  SimulatorSettings s = leaf_settings();
  s.air.H2Or = 31;  // more than air at 24 degC holds
  ASSERT_FALSE(simulate(s));
  EXPECT_NE(simulate(s).error().found.find("condenses"), std::string::npos);
  s = leaf_settings();
  s.step = 3;
  EXPECT_FALSE(simulate(s));
  s = leaf_settings();
  s.paths.cell_flow = 0;
  EXPECT_FALSE(simulate(s));
  s = leaf_settings();
  s.stomata.gsw = std::nan("");
  EXPECT_FALSE(simulate(s));
}

TEST(Simulator, RowsAndLagsAddUp) {
  const auto run = simulate_quiet(empty_settings()).value();
  const TrueLags& l = run.lags;
  EXPECT_NEAR(l.difference,
              l.inlet + l.chamber + l.sample_line + l.sample_cell - l.reference_line -
                  l.reference_mixed - l.reference_cell,
              1e-12);
  // n/u with R = 8.314462618: 97.2e3 x 62e-6/(8.314462618 x 297.15)/420e-6, by hand.
  EXPECT_NEAR(l.chamber, 5.80763, 1e-5);
  for (const SimulatedColumn& c : run.columns) {
    EXPECT_EQ(c.values.size(), run.truth.time_s.size()) << c.symbol;
  }
}

}  // namespace
}  // namespace leafwright
