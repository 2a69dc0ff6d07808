// `leafwright path` and `leafwright ramp` on independent simulations with known truth
// (tests/published/data/ramps_simulated: case up200 has lag 5.704940 s, Vcmax 72, J 138, TPU 9.6).
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path data = fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated";

const char* const instrument = R"(chamber_volume = "40 mL"
inlet_volume = "10 mL"
cell_flow = "200 mL/min"
gbw = "3 mol m-2 s-1"
gbw_is = "whole leaf"
)";

struct Ramps : testing::Test {
  Ramps() {
    for (const char* name : {"up200_leaf.csv", "up200_empty.csv"}) {
      fs::copy_file(data / name, folder.path() / name);
    }
    folder.write("i.toml", instrument);
  }
  [[nodiscard]] Ended ramp(std::vector<std::string> more) const {
    std::vector<std::string> call = {"ramp", "up200_leaf.csv", "--instrument", "i.toml"};
    call.insert(call.end(), more.begin(), more.end());
    return folder.run(call);
  }
  Folder folder;
};

TEST_F(Ramps, PathFindsTheLagOfTheTruth) {
  const Ended run =
      folder.run({"path", "up200_empty.csv", "--instrument", "i.toml", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json path = json::parse(run.out);
  EXPECT_NEAR(path["lag_s"].get<double>(), 5.704940, 0.03);
  EXPECT_LT(path["lag_s_se"].get<double>(), 0.03);
  EXPECT_EQ(path["equal_lag"], false);
  // off(x) = 0.4 - 1.5 x + 0.8 x^2
  EXPECT_NEAR(path["offset"]["c0"].get<double>(), 0.4, 0.15);
  EXPECT_NEAR(path["offset"]["c1"].get<double>(), -1.5, 0.5);
  EXPECT_NEAR(path["offset"]["c2"].get<double>(), 0.8, 0.5);
  EXPECT_FALSE(path["advice"].empty());
}

TEST_F(Ramps, ForwardGivesPointsThatFitToTheTruth) {
  const Ended run = ramp({"--empty", "up200_empty.csv", "--out", "p.csv"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_TRUE(folder.has("p.csv.meta.json"));
  const json meta = json::parse(folder.read("p.csv.meta.json"));
  EXPECT_EQ(meta["settings"]["correction"]["value"], "forward");
  EXPECT_EQ(meta["ramps"][0]["used"]["pairing"], true);
  // The simulation's own constants, stated in its truth.
  const Ended fit = folder.run({"fit", "p.csv", "--pathway", "c3", "--basis", "mole-fraction",
                                "--kinetic", "Km=558.2698357764373", "--kinetic",
                                "GammaStar=37.84968819918311", "--json", "-"});
  ASSERT_EQ(fit.code, 0) << fit.err;
  const json curve = json::parse(fit.out)["curves"][0];
  // One noisy draw: SD 0.9 % of Vcmax at this noise; three of them.
  EXPECT_NEAR(curve["estimates"]["Vcmax"]["value"].get<double>(), 72, 72 * 0.027);
  EXPECT_NEAR(curve["estimates"]["J"]["value"].get<double>(), 138, 138 * 0.02);
}

TEST_F(Ramps, APathFromAFileGivesTheSamePoints) {
  ASSERT_EQ(
      folder.run({"path", "up200_empty.csv", "--instrument", "i.toml", "--json", "path.json"}).code,
      0);
  ASSERT_EQ(ramp({"--empty", "up200_empty.csv", "--out", "a.csv"}).code, 0);
  const Ended run = ramp({"--out", "b.csv", "--path", "path.json"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(folder.read("a.csv"), folder.read("b.csv"));
}

TEST_F(Ramps, JointFitsTheLeafThroughTheChamber) {
  const Ended run = ramp({"--empty", "up200_empty.csv", "--correction", "joint", "--joint-leaf",
                          "c3", "--out", "p.csv", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json parameters = json::parse(run.out)["ramps"][0]["joint"]["parameters"];
  EXPECT_EQ(parameters[0]["symbol"], "Vcmax");
  EXPECT_NEAR(parameters[0]["value"].get<double>(), 72, 72 * 0.027);
}

TEST_F(Ramps, EveryRowIsThereAndTheEndsSayWhy) {
  ASSERT_EQ(ramp({"--empty", "up200_empty.csv", "--out", "p.csv"}).code, 0);
  const std::string csv = folder.read("p.csv");
  const auto rows = std::count(csv.begin(), csv.end(), '\n') - 1;
  const std::string log = folder.read("up200_leaf.csv");
  EXPECT_EQ(rows, std::count(log.begin(), log.end(), '\n') - 1);
  EXPECT_NE(csv.find("after CO2r began to move"), std::string::npos);
}

TEST_F(Ramps, EqualLagIsRefusedWhereTheLagsAreNotEqual) {
  const Ended run =
      ramp({"--empty", "up200_empty.csv", "--correction", "equal-lag", "--out", "p.csv"});
  EXPECT_EQ(run.code, 4);
  EXPECT_NE(run.err.find("the lags are not equal"), std::string::npos) << run.err;
  EXPECT_FALSE(folder.has("p.csv"));
}

TEST_F(Ramps, PairingOffIsDoneAndWarnedOf) {
  const Ended run = ramp({"--empty", "up200_empty.csv", "--pairing", "off", "--out", "p.csv"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("pairing OFF"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("warning:"), std::string::npos) << run.out;
}

TEST_F(Ramps, WhatIsMissingIsNamed) {
  Ended run = ramp({"--out", "p.csv"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("without a gas path"), std::string::npos) << run.err;
  run = ramp({"--empty", "up200_empty.csv"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("no --out given"), std::string::npos) << run.err;
  run = ramp({"--empty", "up200_empty.csv", "--correction", "joint", "--out", "p.csv"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("without a leaf model"), std::string::npos) << run.err;
  run = ramp({"--out", "p.csv", "--path", "i.toml"});
  EXPECT_NE(run.code, 0);
  folder.write("i.toml", "inlet_volume = \"10 mL\"\n");
  run = ramp({"--empty", "up200_empty.csv", "--out", "p.csv"});
  EXPECT_EQ(run.code, 2) << run.err;
  EXPECT_NE(run.err.find("gbw"), std::string::npos) << run.err;
  run = folder.run({"path", "up200_leaf.csv", "--instrument", "i.toml"});
  EXPECT_NE(run.code, 0) << "a leaf's record is no empty one: " << run.out;
}

}  // namespace
}  // namespace leafwright::cli_test
