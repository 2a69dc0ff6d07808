// An up and a down ramp of one leaf: the command, and a study that states a pair.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";

/// up.csv, down.csv, empty.csv, each with its instrument beside it, of a leaf with a lag of its
/// own.
void rehearse(const Folder& folder, const std::string& lag) {
  const auto make = [&](const std::string& name, std::vector<std::string> more) {
    std::vector<std::string> call = {"rehearse", "--out", name};
    call.insert(call.end(), more.begin(), more.end());
    const Ended made = folder.run(call);
    ASSERT_EQ(made.code, 0) << made.err;
  };
  make("up.csv", {"--co2-start", "50", "--co2-end", "1000", "--lag-up", lag, "--lag-down", lag,
                  "--seed", "11"});
  make("down.csv", {"--co2-start", "1000", "--co2-end", "50", "--lag-up", lag, "--lag-down", lag,
                    "--seed", "12"});
  make("turns.csv", {"--shape", "there-and-back", "--co2-start", "50", "--co2-end", "1000",
                     "--lag-up", lag, "--lag-down", lag, "--seed", "14"});
  make("empty.csv", {"--leaf", "none", "--co2-start", "50", "--co2-end", "1000", "--seed", "13",
                     "--write-instrument", "instrument.toml"});
}

std::vector<std::string> call_of(std::vector<std::string> leaf, std::vector<std::string> more) {
  std::vector<std::string> call = {"pair"};
  call.insert(call.end(), leaf.begin(), leaf.end());
  call.insert(call.end(), {"--empty", "empty.csv", "--instrument", "instrument.toml"});
  call.insert(call.end(), more.begin(), more.end());
  return call;
}

TEST(PairCommand, TheLagOfTheSimulatedLeafIsFoundAndTakenOut) {
  const Folder folder;
  rehearse(folder, "5");
  const Ended run =
      folder.run(call_of({"up.csv", "down.csv"}, {"--out", "pair.csv", "--json", "pair.json"}));
  ASSERT_EQ(run.code, 0) << run.err;
  const json pair = json::parse(folder.read("pair.json"))["pairs"][0];
  const double lag = pair["own_lag"]["lag_s"], se = pair["own_lag"]["lag_s_se"];
  EXPECT_NEAR(lag, 5, 4 * se);  // the simulator's truth
  EXPECT_LT(se, 1);
  EXPECT_EQ(pair["own_lag"]["removed_s"], lag);
  EXPECT_FALSE(pair["symmetry"]["contradicted"]);
  EXPECT_NE(run.out.find("own lag of the leaf"), std::string::npos);
  // One curve of both ways, which fit reads as it is.
  const Ended fit = folder.run({"fit", "pair.csv", "--curve", "pair", "--pathway", "c3",
                                "--kinetics", "bernacchi-2001", "--json", "fit.json"});
  ASSERT_EQ(fit.code, 0) << fit.err;
  const json fits = json::parse(folder.read("fit.json"));
  ASSERT_EQ(fits["curves"].size(), 1U);
  EXPECT_GT(fits["curves"][0]["points"], 400);
}

TEST(PairCommand, ARampThatTurnsRoundIsBothWays) {
  const Folder folder;
  rehearse(folder, "5");
  const Ended run = folder.run(call_of({"turns.csv"}, {"--json", "pair.json"}));
  ASSERT_EQ(run.code, 0) << run.err;
  const json pair = json::parse(folder.read("pair.json"))["pairs"][0];
  const double lag = pair["own_lag"]["lag_s"], se = pair["own_lag"]["lag_s_se"];
  EXPECT_NEAR(lag, 5, 4 * se);
  EXPECT_EQ(pair["ramps"].size(), 1U);
}

TEST(PairCommand, ACutLastLineStopsNothing) {
  const Folder folder;
  rehearse(folder, "0");
  const std::string down = folder.read("down.csv");
  // In the middle of the last line, so that it has no curve_id.
  folder.write("cut.csv", down.substr(0, down.rfind('\n', down.size() - 2) + 40));
  const Ended run = folder.run(call_of({"up.csv", "cut.csv"}, {"--json", "pair.json"}));
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.err.find("the last line is cut"), std::string::npos) << run.err;
  EXPECT_FALSE(json::parse(folder.read("pair.json"))["pairs"][0]["own_lag"].is_null());
}

TEST(PairCommand, TwoWaysUpAreRefusedWithWhatTheyAre) {
  const Folder folder;
  rehearse(folder, "0");
  fs::copy_file(folder.path() / "up.csv", folder.path() / "again.csv");
  const Ended run = folder.run(call_of({"up.csv", "again.csv"}, {}));
  EXPECT_NE(run.code, 0);
  EXPECT_NE(run.err.find("2 up and 0 down"), std::string::npos) << run.err;
}

TEST(PairCommand, AWrongLagOrPairIsAWrongCall) {
  const Folder folder;
  rehearse(folder, "0");
  const Ended lag = folder.run(call_of({"up.csv", "down.csv"}, {"--own-lag", "soon"}));
  EXPECT_EQ(lag.code, 2);
  EXPECT_NE(lag.err.find("found, keep, or seconds"), std::string::npos) << lag.err;
  const Ended pair = folder.run(call_of({"up.csv", "down.csv"}, {"--pair", "one"}));
  EXPECT_EQ(pair.code, 2);
  EXPECT_NE(pair.err.find("two curve ids"), std::string::npos) << pair.err;
}

void copy_demo(const Folder& folder) {
  for (const char* name : {"pair.toml", "terrace-ramps.toml", "recorder.toml", "samples.csv",
                           "terrace-empty.txt", "terrace-ramps.txt"}) {
    fs::copy_file(demo / name, folder.path() / name);
  }
}

TEST(RunPairs, AStatedPairIsOneMoreCurveWithIntervalsOfBothRamps) {
  const Folder folder;
  copy_demo(folder);
  const Ended run = folder.run({"run", "pair.toml", "--out", "o"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json fits = json::parse(folder.read("o/fits.json"));
  ASSERT_EQ(fits["pairs"].size(), 1U);
  const json& pair = fits["pairs"][0];
  const double lag = pair["own_lag"]["lag_s"], se = pair["own_lag"]["lag_s_se"];
  EXPECT_LT(std::abs(lag), 4 * se);  // the demo's leaves have no lag of their own
  const auto curve_of = [&](const std::string& id) {
    for (const json& curve : fits["curves"]) {
      if (curve["curve_id"] == id) return curve;
    }
    return json();
  };
  const json both = curve_of("lt-a2-1_ramp + lt-a2-1_down"), up = curve_of("lt-a2-1_ramp");
  ASSERT_FALSE(both.is_null());
  const auto se_of = [](const json& curve) {
    return curve["estimates"]["Vcmax"]["se"].get<double>();
  };
  EXPECT_LT(se_of(both), se_of(up));  // two ways tell more than one
  EXPECT_NE(folder.read("o/report.html").find("An up and a down ramp of one leaf"),
            std::string::npos);
}

TEST(RunPairs, APairOfWhatIsNoRampStopsNothing) {
  const Folder folder;
  copy_demo(folder);
  std::string text = folder.read("pair.toml");
  text.replace(text.find("lt-a2-1_down"), 12, "lt-a9-9_down");
  folder.write("pair.toml", text);
  const Ended run = folder.run({"run", "pair.toml", "--out", "o"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("no ramp 'lt-a9-9_down'; the study has"), std::string::npos) << run.err;
  EXPECT_EQ(json::parse(folder.read("o/fits.json"))["curves"].size(), 5U);
}

}  // namespace
}  // namespace leafwright::cli_test
