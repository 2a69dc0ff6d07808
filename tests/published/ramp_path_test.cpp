// Gas paths of the six simulated cases of data/ramps_simulated against their truth: an independent
// simulation that shares no code with Leafwright (see README.md there). Lags are `lags_s.dL` of the
// truth, mixing `tau_ch`, offsets `off`. Bounds: 3.5 standard errors as reported, and the goals of
// accuracy beside them.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <memory>

#include "published/ramp_cases.hpp"
#include "ramp/identify.hpp"

namespace leafwright::published {
namespace {

struct Expected {
  const char* name;
  double lag, mixing, volume;
  double rate;  ///< umol mol-1 min-1, 0 for steps
};
// Copied from the *_empty_truth.json files: dL, tau_ch, v_chamber, rate with its sign.
constexpr Expected cases[] = {
    {"up200", 5.704939761576142, 4.563951809260914, 40, 200},
    {"up200_empty_other_rate", 5.704939761576142, 4.563951809260914, 40, 120},
    {"matched_up200", 0.0, 4.563951809260914, 40, 200},
    {"up150_smallflow", 8.652491971723817, 7.321339360689383, 55, 150},
    {"down150_c4", 5.704939761576142, 4.563951809260914, 40, -150},
    {"steps", 5.704939761576142, 4.563951809260914, 40, 0},
};

GasPath path_of(const Expected& expected) {
  Instrument instrument;
  instrument.chamber_volume = expected.volume;
  const std::string name = std::string(expected.name) + "_empty.csv";
  const auto record =
      record_of(file_bytes("ramps_simulated/" + name), name, RecordRole::empty, instrument);
  const auto path = identify({record});
  EXPECT_TRUE(path) << path.error().text();
  return path ? *path : GasPath{};
}

/// Offset of the path at x less that of the truth, with its standard error.
WithError offset_error(const GasPath& path, double x) {
  const double truth = 0.4 - 1.5 * x + 0.8 * x * x;
  const double power[3] = {1, x, x * x};
  WithError out{-truth, 0};
  double variance = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    out.value += path.offset[i] * power[i];
    for (std::size_t j = 0; j < 3; ++j)
      variance += power[i] * power[j] * path.covariance[4 * (i + 1) + j + 1];
  }
  out.se = std::sqrt(variance);
  return out;
}

TEST(RampPath, LagMixingAndOffsetsOfAllSixCases) {
  std::printf("%-24s %9s %9s %7s %9s %9s %7s %s\n", "case", "true lag", "lag", "se", "true tau",
              "tau", "se", "offset error at low, middle, high CO2");
  for (const Expected& expected : cases) {
    SCOPED_TRACE(expected.name);
    const GasPath path = path_of(expected);
    ASSERT_TRUE(path.lag_s && path.mixing_s && path.delay_s);
    const PathConditions& c = path.conditions;
    WithError offset[3];
    const double at[3] = {c.CO2_low, (c.CO2_low + c.CO2_high) / 2, c.CO2_high};
    for (int i = 0; i < 3; ++i) offset[i] = offset_error(path, at[i] / 1000);
    std::printf("%-24s %9.4f %9.4f %7.4f %9.4f %9.4f %7.4f %7.3f %7.3f %7.3f\n", expected.name,
                expected.lag, path.lag_s->value, path.lag_s->se, expected.mixing,
                path.mixing_s->value, path.mixing_s->se, offset[0].value, offset[1].value,
                offset[2].value);
    EXPECT_NEAR(path.lag_s->value, expected.lag, 3.5 * path.lag_s->se);
    EXPECT_NEAR(path.lag_s->value, expected.lag, 0.02);
    EXPECT_NEAR(path.mixing_s->value, expected.mixing, 3.5 * path.mixing_s->se);
    for (const WithError& error : offset) EXPECT_NEAR(error.value, 0, 3.5 * error.se);
    // 0.1 umol mol-1 of residual differential, and 0.1 mL of extra volume at 200 mL min-1
    const double rate = expected.rate == 0 ? 200 : std::abs(expected.rate);
    EXPECT_LT(std::abs(path.lag_s->value - expected.lag) * rate / 60, 0.1);
    EXPECT_LT(std::abs(path.lag_s->value - expected.lag) * 200 / 60, 0.1);
  }
}

TEST(RampPath, RatesAndTheChamberAreSeen) {
  for (const Expected& expected : cases) {
    SCOPED_TRACE(expected.name);
    const GasPath path = path_of(expected);
    ASSERT_TRUE(path.chamber_tau_s);
    // P V/(R T u) with the flow as logged: its noise is 0.05 of 350 umol s-1
    EXPECT_NEAR(*path.chamber_tau_s, expected.mixing, 2e-3);
    if (expected.rate == 0) continue;
    ASSERT_TRUE(path.conditions.rate);
    EXPECT_NEAR(*path.conditions.rate * 60, expected.rate, 0.05);
  }
}

TEST(RampPath, ALeafIsNotTakenForAnEmptyChamber) {
  for (const Expected& expected : cases) {
    SCOPED_TRACE(expected.name);
    const std::string name = std::string(expected.name) + "_leaf.csv";
    const auto record =
        record_of(file_bytes("ramps_simulated/" + name), name, RecordRole::empty, {});
    const auto path = identify({record});
    ASSERT_FALSE(path);
    EXPECT_EQ(path.error().code, ErrorCode::refused);
  }
}

}  // namespace
}  // namespace leafwright::published
