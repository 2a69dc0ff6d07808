// Settings of a rehearsal: what a plan may say, and what comes of it.
#include "plan/rehearse_settings.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "log/instrument.hpp"

namespace leafwright {
namespace {

Result<SimulatorSettings> planned(const std::string& toml) {
  RehearseSettings settings;
  if (auto ok = read_plan(toml, "plan.toml", settings); !ok) return fail(ok.error());
  return simulator_settings(settings);
}

TEST(RehearseSettings, DefaultsAreThoseOfTheSimulator) {
  const auto s = planned("");
  ASSERT_TRUE(s) << s.error().text();
  const SimulatorSettings own;
  EXPECT_EQ(s->source.rate, own.source.rate);
  EXPECT_EQ(s->source.end, own.source.end);
  EXPECT_EQ(s->paths.chamber, own.paths.chamber);
  EXPECT_EQ(s->paths.reference_line, own.paths.reference_line);
  EXPECT_EQ(s->air.flow, own.air.flow);
  EXPECT_EQ(s->offset, own.offset);
  EXPECT_EQ(s->noise.CO2, own.noise.CO2);
  EXPECT_EQ(s->stomata.gsw, own.stomata.gsw);
  EXPECT_EQ(s->step, own.step);
}

TEST(RehearseSettings, APlanSetsEveryKind) {
  const auto s = planned(
      "schema = 1\nrate = 125\nshape = \"steps\"\nsteps = [400, 50.5, 900]\n"
      "kinetic = [\"O=190\", \"Km=650\"]\noffset = \"0.1,0.2\"\nleaf = \"c3\"\nseed = 12\n"
      "averaging-co2s = 4\nstamp = \"middle\"\ngbw-is = \"per side\"\nstomatal-ratio = 0.5\n");
  ASSERT_TRUE(s) << s.error().text();
  EXPECT_EQ(s->source.rate, 125);
  EXPECT_EQ(s->source.steps, (std::vector<double>{400, 50.5, 900}));
  EXPECT_EQ(s->leaf.kinetics.Km, 650);
  EXPECT_EQ(s->leaf.kinetics.O, 190);
  EXPECT_EQ(s->offset, (std::array<double, 3>{0.1, 0.2, 0}));
  EXPECT_EQ(s->seed, 12U);
  EXPECT_EQ(s->CO2s.averaging, 4);
  EXPECT_EQ(s->CO2s.stamp, Stamp::middle);
  EXPECT_EQ(s->stomata.layer.is, GbwIs::per_side);
}

TEST(RehearseSettings, MistakesHaveTheirPlace) {
  const auto error = [](const std::string& toml) {
    const auto s = planned(toml);
    return s ? std::string("no error") : s.error().text();
  };
  EXPECT_NE(error("rate = 120\nrat = 3\n").find("plan.toml:2:7: unknown setting 'rat'"),
            std::string::npos)
      << error("rate = 120\nrat = 3\n");
  EXPECT_NE(error("rate = -1").find("'rate' is out of range"), std::string::npos);
  EXPECT_NE(error("rate = [").find("plan.toml:1:"), std::string::npos);
  EXPECT_NE(error("rate = true").find("neither a number nor a text"), std::string::npos);
  EXPECT_NE(error("schema = 2").find("schema is not 1"), std::string::npos);
  EXPECT_NE(error("steps = [100]").find("the shape is ramp"), std::string::npos);
  EXPECT_NE(error("shape = \"steps\"\nsteps = \"100,x\"").find("'100,x'"), std::string::npos);
  EXPECT_NE(error("kinetics = \"nobody-1900\"").find("nobody-1900"), std::string::npos);
  EXPECT_NE(error("offset = \"1,2,3,4\"").find("one to three"), std::string::npos);
}

TEST(RehearseSettings, AnOptionStandsAboveThePlan) {
  RehearseSettings settings;
  ASSERT_TRUE(settings.set("rate", "90", SettingOrigin::option));
  ASSERT_TRUE(read_plan("rate = 200\nflow = 500", "plan.toml", settings));
  const auto s = simulator_settings(settings);
  ASSERT_TRUE(s);
  EXPECT_EQ(s->source.rate, 90);
  EXPECT_EQ(s->air.flow, 500);
}

TEST(RehearseSettings, AC4LeafHasItsOwnDefaults) {
  const auto s = planned("leaf = \"c4\"\nc4-kinetic = [\"Kp=75\"]\ntleaf = 28\n");
  ASSERT_TRUE(s) << s.error().text();
  EXPECT_TRUE(s->leaf.c4);
  EXPECT_EQ(s->leaf.as_c4.leaf.Vcmax, 34);
  EXPECT_EQ(s->stomata.gsw, 150);
  EXPECT_EQ(s->leaf.as_c4.pressure, s->air.Patm);
  EXPECT_NEAR(s->leaf.as_c4.kinetics.Kp, 75 * s->air.Patm / 100, 1e-9);
}

TEST(RehearseSettings, TheInstrumentIsReadBackAsItWas) {
  const auto s = planned("gbw-is = \"per side\"\nstomatal-ratio = 0.7\naveraging-co2s = 3\n");
  ASSERT_TRUE(s) << s.error().text();
  const auto read = read_instrument(rehearsed_instrument(*s), "instrument.toml");
  ASSERT_TRUE(read) << read.error().text();
  EXPECT_EQ(read->chamber_volume, s->paths.chamber);
  EXPECT_EQ(read->inlet_volume, s->paths.inlet);
  EXPECT_EQ(read->cell_flow, s->paths.cell_flow);
  EXPECT_EQ(read->gbw, s->stomata.layer.gbw);
  EXPECT_EQ(read->gbw_is, GbwIs::per_side);
  EXPECT_EQ(read->stomatal_ratio, 0.7);
  ASSERT_TRUE(read->timing("CO2s"));
  EXPECT_EQ(read->timing("CO2s")->averaging_s, 3);
}

TEST(RehearseSettings, TheTruthIsJson) {
  auto s = planned("id = \"a \\\"leaf\\\"\"\nnoise-co2 = 0\n");
  ASSERT_TRUE(s) << s.error().text();
  const auto run = simulate(*s);
  ASSERT_TRUE(run) << run.error().text();
  const auto json = nlohmann::json::parse(truth_json(*run));
  EXPECT_EQ(json["schema"], 1);
  EXPECT_EQ(json["curve"]["id"], "a \"leaf\"");
  EXPECT_EQ(json["leaf"]["Vcmax"], 68);
  EXPECT_EQ(json["volumes"]["chamber"], 62);
  EXPECT_EQ(json["lags_s"]["difference"], run->lags.difference);
  s->empty = true;
  EXPECT_TRUE(nlohmann::json::parse(truth_json(*simulate(*s)))["leaf"].is_null());
}

TEST(RehearseSettings, TheRecordIsCsvWithQuotedId) {
  const auto s = planned("id = \"a,b\"\nshape = \"hold\"\nhold-before = 3\nleaf = \"none\"\n");
  ASSERT_TRUE(s) << s.error().text();
  const std::string csv = simulation_csv(*simulate(*s));
  EXPECT_EQ(csv.substr(0, csv.find('\n')),
            "time_s,CO2r,CO2s,H2Or,H2Os,flow,Patm,Tair,Tleaf,Qin,curve_id");
  EXPECT_EQ(std::count(csv.begin(), csv.end(), '\n'), 5);
  EXPECT_NE(csv.find(",\"a,b\"\n"), std::string::npos);
  const std::string series = truth_series_csv(*simulate(*s));
  EXPECT_NE(series.find("\n0,60,60,16,,,,\n"), std::string::npos) << series;
}

TEST(RehearseSettings, DateTimeAndSteadyFluxesAreColumns) {
  const auto s = planned(
      "shape = \"hold\"\nhold-before = 75\ndate = \"2025-06-18\"\nstart-time = \"09:58:50\"\n"
      "steady-fluxes = \"on\"\ninterval = 5\nnoise-co2 = 0\ndrift = 0\nnoise-h2o = 0\n"
      "noise-tleaf = 0\nnoise-flow = 0\noffset = \"0\"\n");
  ASSERT_TRUE(s) << s.error().text();
  const auto run = simulate(*s);
  ASSERT_TRUE(run) << run.error().text();
  const std::string csv = simulation_csv(*run);
  EXPECT_TRUE(csv.starts_with("date,time,time_s,CO2r,")) << csv.substr(0, 200);
  EXPECT_NE(csv.find(",E,A,gsw,Ci,curve_id\n"), std::string::npos);
  EXPECT_NE(csv.find("\n2025-06-18,09:58:50,0.0000,"), std::string::npos);
  EXPECT_NE(csv.find("\n2025-06-18,10:00:05,75.0000,"), std::string::npos);
  // At rest and without noise they are the truth.
  EXPECT_NEAR(column(*run, "A")[8], run->truth.A[8], 1e-7);
  EXPECT_NEAR(column(*run, "Ci")[8], run->truth.Ci[8], 1e-6);
}

TEST(RehearseSettings, DatesAndTimesThatAreNoneAreRefused) {
  const auto refused = [](const char* toml) {
    const auto s = planned(toml);
    return !s || !simulate(*s);
  };
  EXPECT_TRUE(refused("date = \"18.6.2025\""));
  EXPECT_TRUE(refused("date = \"2025-13-01\""));
  EXPECT_TRUE(refused("start-time = \"9:30\""));
  EXPECT_TRUE(refused("start-time = \"23:59:00\""));  // passes midnight
  EXPECT_FALSE(refused("date = \"2025-06-18\"\nstart-time = \"09:30:00\""));
}

}  // namespace
}  // namespace leafwright
