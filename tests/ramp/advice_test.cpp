#include "ramp/advice.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "log/instrument.hpp"
#include "ramp/identify.hpp"

namespace leafwright {
namespace {

GasPath path_with(double lag) {
  GasPath path;
  path.lag_s = WithError{lag, 0.01};
  path.conditions.flow = 350;
  path.conditions.Patm = 98;
  path.conditions.Tair = 22;
  path.conditions.rate = 200.0 / 60;
  return path;
}

Instrument instrument() {
  Instrument out;
  out.chamber_volume = 40;
  out.cell_flow = 200;
  return out;
}

const Advice* find(const MatchingAdvice& all, const std::string& change) {
  const auto at = std::find_if(all.advice.begin(), all.advice.end(),
                               [&](const Advice& one) { return one.change == change; });
  return at == all.advice.end() ? nullptr : &*at;
}

TEST(Advice, VolumeAndLengthFollowFromTheLag) {
  AdviceOptions options;
  options.bores_mm = {1.59};
  const MatchingAdvice advice = advise(path_with(5.70), instrument(), options);
  ASSERT_TRUE(advice.equal_lag);
  EXPECT_FALSE(*advice.equal_lag);
  EXPECT_NEAR(advice.residual_differential->value, 19.0, 1e-9);
  ASSERT_NE(find(advice, "reference volume"), nullptr);
  EXPECT_NEAR(find(advice, "reference volume")->amount, 19.0, 1e-9);
  EXPECT_NEAR(*find(advice, "reference volume")->se, 0.01 * 200 / 60, 1e-9);
  const Advice* tube = find(advice, "reference tube");
  ASSERT_NE(tube, nullptr);
  EXPECT_NEAR(tube->amount, 957, 0.5);  // an independent study: 957 cm of 1.59 mm bore
  EXPECT_NE(tube->note.find("3.7 kPa"), std::string::npos) << tube->note;  // the same study
  EXPECT_NE(tube->note.find("wider"), std::string::npos);
}

TEST(Advice, ViscosityIsThatOfTheStandardAtmosphere) {
  // U.S. Standard Atmosphere 1976, table at sea level, 288.15 K: 1.7894e-5 (from memory).
  EXPECT_NEAR(air_viscosity(15), 1.7894e-5, 0.0001e-5);
}

TEST(Advice, ALateReferenceIsShortened) {
  const MatchingAdvice advice = advise(path_with(-1.2), instrument());
  ASSERT_NE(find(advice, "reference volume"), nullptr);
  EXPECT_NEAR(find(advice, "reference volume")->amount, -4, 1e-9);
  EXPECT_NE(find(advice, "reference volume")->note.find("take away"), std::string::npos);
}

TEST(Advice, EqualLagsNeedNothing) {
  const MatchingAdvice advice = advise(path_with(0.02), instrument());
  EXPECT_TRUE(*advice.equal_lag);
  EXPECT_TRUE(advice.advice.empty());
  // 0.1 umol mol-1 at 200 a minute is 0.03 s.
  EXPECT_FALSE(*advise(path_with(0.031), instrument()).equal_lag);
}

TEST(Advice, OneFlowWithoutAnInletIsSevenPerCentUncertainAndSaysSo) {
  const MatchingAdvice advice = advise(path_with(1), instrument());
  const Advice* flow = find(advice, "chamber flow");
  ASSERT_NE(flow, nullptr);
  EXPECT_GE(*flow->se / flow->amount, 0.07);
  EXPECT_NE(flow->note.find("uncertain"), std::string::npos);
  // 50 mL hold 1996.7 umol: u0 = b/(b/u - L)
  Instrument known = instrument();
  known.inlet_volume = 10;
  const MatchingAdvice all = advise(path_with(1), known);
  const Advice* exact = find(all, "chamber flow");
  ASSERT_NE(exact, nullptr);
  EXPECT_NEAR(exact->amount, 1996.73 / (1996.73 / 350 - 1), 0.05);
  EXPECT_LT(*exact->se / exact->amount, 0.01);
}

TEST(Advice, TwoFlowsGiveTheNull) {
  GasPath path = path_with(1);
  path.flow_law =
      FlowLaw{{-4.7, 0.02}, {1996.7, 5}, 0, WithError{424.8, 3}, {}, {350, 500}, {1, 2}};
  const MatchingAdvice advice = advise(path, instrument());
  ASSERT_NE(find(advice, "chamber flow"), nullptr);
  EXPECT_EQ(find(advice, "chamber flow")->amount, 424.8);
}

TEST(Advice, WithoutLagOrRateOrCellFlowItSaysWhatIsMissing) {
  GasPath none = path_with(1);
  none.lag_s.reset();
  EXPECT_EQ(advise(none, instrument()).missing.size(), 1U);
  GasPath steps = path_with(1);
  steps.conditions.rate.reset();
  EXPECT_FALSE(advise(steps, instrument()).equal_lag);
  AdviceOptions asked;
  asked.rate = 200.0 / 60;
  EXPECT_TRUE(advise(steps, instrument(), asked).equal_lag);
  const MatchingAdvice bare = advise(path_with(1), {});
  EXPECT_TRUE(bare.advice.empty());
  EXPECT_EQ(bare.missing.size(), 2U);
}

}  // namespace
}  // namespace leafwright
