// `leafwright path`: files, exits, and a path read back. Numbers against truth are in
// tests/published/ramp_path_test.cpp.
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/program.hpp"
#include "ramp/path_json.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

struct PathCall : testing::Test {
  PathCall() {
    take("up200_empty.csv");
    folder.write("i.toml", "chamber_volume = \"40 mL\"\ncell_flow = \"200 mL/min\"\n");
  }
  void take(const std::string& name) const {
    fs::copy_file(fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated" / name,
                  folder.path() / name);
  }
  Folder folder;
};

TEST_F(PathCall, TheVerdictComesFirst) {
  const Ended run = folder.run({"path", "up200_empty.csv", "--instrument", "i.toml"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.out.find("The lags are not equal"), 0U) << run.out;
  EXPECT_NE(run.out.find("kPa"), std::string::npos);
}

TEST_F(PathCall, JsonIsReadBack) {
  const Ended run = folder.run({"path", "up200_empty.csv", "--instrument", "i.toml", "--json",
                                "path.json", "--gasket", "new foam"});
  ASSERT_EQ(run.code, 0) << run.err;
  const std::string text = folder.read("path.json");
  const auto path = read_path(text, "path.json");
  ASSERT_TRUE(path) << path.error().text();
  const json written = json::parse(text);
  EXPECT_EQ(path->lag_s->value, written["lag_s"].get<double>());
  EXPECT_EQ(path->lag_s->se, written["lag_s_se"].get<double>());
  EXPECT_EQ(path->offset[2], written["offset"]["c2"].get<double>());
  EXPECT_EQ(path->conditions.gasket.value_or(""), "new foam");
  EXPECT_GT(path->covariance[5], 0);
  EXPECT_TRUE(path->chamber_tau_s.has_value());
  EXPECT_EQ(path->notes.size(), written["notes"].size());
  EXPECT_EQ(written["advice"][0]["change"], "reference volume");
}

TEST_F(PathCall, AFileThatIsNoPathIsNamed) {
  EXPECT_NE(read_path("{}", "p.json").error().text().find("p.json"), std::string::npos);
  EXPECT_FALSE(read_path("not json", "p.json").has_value());
  EXPECT_FALSE(read_path(R"({"command": "path", "schema": 2})", "p.json").has_value());
  const auto half = read_path(R"({"command": "path", "schema": 1, "lag_s": 5})", "p.json");
  ASSERT_FALSE(half.has_value());
  EXPECT_NE(half.error().text().find("covariance"), std::string::npos);
}

TEST_F(PathCall, EqualLagsAndSteps) {
  take("matched_up200_empty.csv");
  const Ended equal = folder.run({"path", "matched_up200_empty.csv", "--json", "-"});
  ASSERT_EQ(equal.code, 0) << equal.err;
  EXPECT_EQ(json::parse(equal.out)["equal_lag"], true);
  take("steps_empty.csv");
  const Ended steps = folder.run({"path", "steps_empty.csv", "--json", "-"});
  ASSERT_EQ(steps.code, 0) << steps.err;
  EXPECT_TRUE(json::parse(steps.out)["equal_lag"].is_null());
  const Ended rated = folder.run({"path", "steps_empty.csv", "--rate", "200", "--json", "-"});
  EXPECT_EQ(json::parse(rated.out)["equal_lag"], false);
}

/// An empty of the program's own simulator: date, seed, and what the sample cell reads too much.
void rehearse_empty(const Folder& folder, const std::string& name, const std::string& date,
                    const std::string& seed, const std::string& offset) {
  const Ended made = folder.run({"rehearse", "--leaf", "none", "--date", date, "--seed", seed,
                                 "--offset", offset, "--out", name});
  ASSERT_EQ(made.code, 0) << made.err;
}

TEST_F(PathCall, TheCellsOfTwoDatesAreCompared) {
  rehearse_empty(folder, "e1.csv", "2025-06-20", "11", "0.3,-0.9,0.5");
  // Simulated: the later cell reads 0.6 umol/mol more, whatever the CO2.
  rehearse_empty(folder, "e2.csv", "2025-06-27", "12", "0.9,-0.9,0.5");
  const Ended run = folder.run({"path", "e1.csv", "e2.csv", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(run.out);
  ASSERT_EQ(made["offset_changes"].size(), 1U);
  const json& change = made["offset_changes"][0];
  EXPECT_EQ(change["from"], "2025-06-20");
  EXPECT_EQ(change["to"], "2025-06-27");
  EXPECT_EQ(change["different"], true);
  for (const json& point : change["points"]) {
    const double se = point["change_se"];
    EXPECT_GT(se, 0);
    EXPECT_NEAR(point["change"].get<double>(), 0.6, 4 * se);
  }
  const Ended text = folder.run({"path", "e1.csv", "e2.csv"});
  EXPECT_NE(text.out.find("from 2025-06-20 to 2025-06-27"), std::string::npos) << text.out;
  EXPECT_NE(text.out.find("standard errors"), std::string::npos);
}

TEST_F(PathCall, CellsThatHeldAreNotAccused) {
  rehearse_empty(folder, "e1.csv", "2025-06-20", "31", "0.3,-0.9,0.5");
  rehearse_empty(folder, "e2.csv", "2025-06-27", "32", "0.3,-0.9,0.5");
  const Ended run = folder.run({"path", "e1.csv", "e2.csv", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(json::parse(run.out)["offset_changes"][0]["different"], false) << run.out;
  EXPECT_EQ(run.out.find("cell-difference-changed"), std::string::npos);
  EXPECT_NE(run.out.find("not proof of none"), std::string::npos);
}

TEST_F(PathCall, RefusalsAndWrongCalls) {
  take("up200_leaf.csv");
  const Ended leaf = folder.run({"path", "up200_leaf.csv"});
  EXPECT_EQ(leaf.code, 4);
  EXPECT_NE(leaf.err.find("water"), std::string::npos) << leaf.err;
  EXPECT_EQ(folder.run({"path", "gone.csv"}).code, 3);
  EXPECT_EQ(folder.run({"path", "up200_empty.csv", "up200_empty.csv"}).code, 2);
  EXPECT_EQ(folder.run({"path", "up200_empty.csv", "--bore", "thick"}).code, 2);
  folder.write("path.json", "mine");
  EXPECT_EQ(folder.run({"path", "up200_empty.csv", "--json", "path.json"}).code, 4);
  EXPECT_EQ(folder.read("path.json"), "mine");
}

TEST_F(PathCall, TheSameAirInBothCellsContradictsAnEmptyThatLeaks) {
  // Simulated: offset 0.3 - 0.9 x + 0.5 x^2; the empty leaks K = 0.6 umol/s, the cells do not.
  const auto rehearse = [&](std::vector<std::string> call) {
    call.insert(call.begin(), {"rehearse", "--leaf", "none"});
    const Ended made = folder.run(call);
    ASSERT_EQ(made.code, 0) << made.err;
  };
  rehearse({"--co2-start", "100", "--co2-end", "1000", "--leak", "0.6", "--seed", "3", "--out",
            "leaky.csv"});
  for (const std::string CO2 : {"200", "500", "900"}) {
    rehearse({"--shape", "hold", "--co2-start", CO2, "--seed", CO2, "--out", CO2 + ".csv"});
  }
  const std::vector<std::string> call = {"path",       "leaky.csv", "--same-air", "200.csv",
                                         "--same-air", "500.csv",   "--same-air", "900.csv",
                                         "--json",     "-"};
  const Ended run = folder.run(call);
  ASSERT_EQ(run.code, 0) << run.err;
  int against = 0;
  std::string leak;
  const json told = json::parse(run.out);
  for (const json& note : told["notes"]) {
    against += note["about"] == "cell-difference-contradicted" ? 1 : 0;
    if (note["about"] == "leak-told") leak = note["text"];
  }
  EXPECT_GE(against, 1);
  const std::size_t at = leak.find("K = ");
  ASSERT_NE(at, std::string::npos) << run.out;
  EXPECT_NEAR(std::stod(leak.substr(at + 4)), 0.6, 0.06);
}

}  // namespace
}  // namespace leafwright::cli_test
