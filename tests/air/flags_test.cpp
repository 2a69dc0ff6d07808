#include "air/flags.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <string>

#include "air/moist_air.hpp"
#include "air/sample.hpp"

namespace leafwright {
namespace {

using air_test::ordinary_options;
using air_test::ordinary_record;

std::vector<RaisedFlag> flags_of(const FluxInput& in, const FlagLimits& limits = {},
                                 const FluxNoise* noise = nullptr) {
  const auto result = flux(in, ordinary_options());
  EXPECT_TRUE(result) << result.error().text();
  return *flux_flags(in, ordinary_options(), *result, noise, limits);
}

const RaisedFlag* find(const std::vector<RaisedFlag>& flags, FluxFlag which) {
  const auto it = std::find_if(flags.begin(), flags.end(),
                               [&](const RaisedFlag& f) { return f.flag == which; });
  return it == flags.end() ? nullptr : &*it;
}

TEST(Flags, AnOrdinaryRecordHasNone) {
  EXPECT_TRUE(flags_of(ordinary_record()).empty());
}

TEST(Flags, CondensationBeginsAtTheDewPointOfTheCoolestWall) {
  const FluxInput in = ordinary_record();
  const double P = in.Patm + ordinary_options().overpressure;
  const double dew = *dew_point(VapourPressure::leaf_common, in.H2Os / 1000 * P);
  FlagLimits limits;
  limits.coolest_wall = dew + 1e-6;
  EXPECT_EQ(find(flags_of(in, limits), FluxFlag::condensation), nullptr);
  limits.coolest_wall = dew - 1e-6;
  const auto flags = flags_of(in, limits);
  const RaisedFlag* flag = find(flags, FluxFlag::condensation);
  ASSERT_NE(flag, nullptr);
  EXPECT_NE(flag->reason.find("coolest wall"), std::string::npos);
  EXPECT_TRUE(flag->source.starts_with("derived"));
  EXPECT_EQ(flag->note().about, "condensation");
}

TEST(Flags, CondensationSetsInAtFullHumidityWithAnEnhancementToo) {
  // Water condenses on a wall at Tair just when RHs reaches 100 %.
  FluxOptions options = ordinary_options();
  options.vapour_pressure = VapourPressure::iapws_1992;
  options.enhancement = Enhancement::wmo_2008;
  FluxInput in = ordinary_record();
  const auto condenses = [&](double RHs) {
    in.H2Os = water_from_humidity(
        RHs, saturation_pressure(VapourPressure::iapws_1992, Enhancement::wmo_2008, *in.Tair, 98.6),
        98.6);
    in.H2Or = in.H2Os - 5;
    const auto result = flux(in, options);
    EXPECT_NEAR(*result->RHs, RHs, 1e-9);
    return find(*flux_flags(in, options, *result, nullptr), FluxFlag::condensation) != nullptr;
  };
  EXPECT_FALSE(condenses(99.99));
  EXPECT_TRUE(condenses(100.01));
}

TEST(Flags, WithoutAWallTheCoolerOfAirAndLeafStandsIn) {
  FluxInput in = ordinary_record();
  in.Tair = 15;  // dew point about 16.4 degC
  const auto flags = flags_of(in);
  EXPECT_NE(find(flags, FluxFlag::condensation), nullptr);
  EXPECT_NE(find(flags, FluxFlag::humid), nullptr);
}

TEST(Flags, HumidFollowsItsLimit) {
  const FluxInput in = ordinary_record();
  FlagLimits limits;
  limits.rh = *flux(in, ordinary_options())->RHs - 0.1;
  const auto flags = flags_of(in, limits);
  ASSERT_NE(find(flags, FluxFlag::humid), nullptr);
  EXPECT_EQ(find(flags, FluxFlag::humid)->source, "common practice, no source");
  limits.rh += 0.2;
  EXPECT_EQ(find(flags_of(in, limits), FluxFlag::humid), nullptr);
}

TEST(Flags, WhyThereIsNoCi) {
  FluxInput in = ordinary_record();
  in.Tleaf = 10;
  EXPECT_NE(find(flags_of(in), FluxFlag::vpd_not_positive), nullptr);
  in = ordinary_record();
  in.gbw = 100;
  EXPECT_NE(find(flags_of(in), FluxFlag::boundary_too_small), nullptr);
  in = ordinary_record();
  in.H2Or = in.H2Os + 0.01;
  EXPECT_NE(find(flags_of(in), FluxFlag::gsw_not_positive), nullptr);
}

TEST(Flags, NegativeCi) {
  FluxInput in = ordinary_record();
  in.H2Or = in.H2Os - 0.3;
  const auto flags = flags_of(in);
  const RaisedFlag* flag = find(flags, FluxFlag::negative_Ci);
  ASSERT_NE(flag, nullptr);
  EXPECT_EQ(flag->level, NoteLevel::warning);
}

TEST(Flags, CiAboveCaThoughAIsPositiveComesFromElsewhereOnly) {
  const FluxInput in = ordinary_record();
  FluxResult result = *flux(in, ordinary_options());
  result.leaf.Ci = in.CO2s + 1;  // such as recorded at another moment than A
  const auto flags = *flux_flags(in, ordinary_options(), result, nullptr);
  EXPECT_NE(find(flags, FluxFlag::Ci_above_Ca), nullptr);
  // Moist air is what counts, whatever the columns do: 402 dry is 394 moist.
  FluxOptions dry = ordinary_options();
  dry.co2_per = Co2Per::dry_air;
  FluxResult of_dry = *flux(in, dry);
  of_dry.leaf.Ci = of_dry.CO2s_moist + 1;
  EXPECT_NE(find(*flux_flags(in, dry, of_dry, nullptr), FluxFlag::Ci_above_Ca), nullptr);
  result.A = -1;  // a respiring leaf may
  EXPECT_TRUE(flux_flags(in, ordinary_options(), result, nullptr)->empty());
}

TEST(Flags, TheErrorOfCiDecidesNotGswItself) {
  // The same closed leaf: with a good water analyser Ci is known, with a poor one it is not.
  FluxInput in = ordinary_record();
  in.H2Or = in.H2Os - 0.5;
  in.CO2r = in.CO2s + 1.0;
  const auto flagged = [&](double water_sd, FluxFlag which, const FlagLimits& limits = {}) {
    InputSd sd;
    sd[NoisyInput::H2Or] = water_sd;
    sd[NoisyInput::H2Os] = water_sd;
    const auto noise = flux_noise(in, ordinary_options(), sd);
    EXPECT_TRUE(noise);
    const auto flags = flags_of(in, limits, &*noise);
    return find(flags, which) != nullptr;
  };
  EXPECT_FALSE(flagged(0.002, FluxFlag::Ci_uncertain));
  EXPECT_TRUE(flagged(0.1, FluxFlag::Ci_uncertain));
  EXPECT_FALSE(flagged(0.1, FluxFlag::gsw_near_zero));
  EXPECT_TRUE(flagged(0.2, FluxFlag::gsw_near_zero));
  // The limits are settings.
  EXPECT_TRUE(flagged(0.002, FluxFlag::Ci_uncertain, {.Ci_sd = 0.1}));
  EXPECT_FALSE(flagged(0.1, FluxFlag::Ci_uncertain, {.Ci_sd = 1000}));
  EXPECT_TRUE(flagged(0.1, FluxFlag::gsw_near_zero, {.gsw_in_sd = 5}));
  EXPECT_FALSE(flagged(0.2, FluxFlag::gsw_near_zero, {.gsw_in_sd = 1}));
}

TEST(Flags, ATemperatureOutsideTheForm) {
  FluxInput in = ordinary_record();
  in.Tleaf = 52;
  const auto flags = flags_of(in);
  ASSERT_NE(find(flags, FluxFlag::outside_form), nullptr);
  EXPECT_NE(find(flags, FluxFlag::outside_form)->source.find("Buck 1981"), std::string::npos);
}

TEST(Flags, EveryFlagHasANameReasonAndSource) {
  FluxInput in = ordinary_record();
  in.Tleaf = 10;
  for (const RaisedFlag& flag : flags_of(in)) {
    EXPECT_FALSE(flux_flag_name(flag.flag).empty());
    EXPECT_FALSE(flag.reason.empty());
    EXPECT_FALSE(flag.source.empty());
  }
}

TEST(Flags, ALimitThatIsNoneIsAUsageError) {
  const FluxInput in = ordinary_record();
  const FluxResult result = *flux(in, ordinary_options());
  const double infinity = std::numeric_limits<double>::infinity();
  for (const FlagLimits& limits :
       {FlagLimits{.rh = -1}, FlagLimits{.Ci_sd = 0}, FlagLimits{.gsw_in_sd = infinity},
        FlagLimits{.coolest_wall = not_given}}) {
    const auto flags = flux_flags(in, ordinary_options(), result, nullptr, limits);
    ASSERT_FALSE(flags);
    EXPECT_EQ(flags.error().code, ErrorCode::usage);
  }
}

}  // namespace
}  // namespace leafwright
