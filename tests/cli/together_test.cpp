// `leafwright together` on the demo's points and on wrong calls.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "cli/demo_truth.hpp"
#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

const std::string points = LEAFWRIGHT_SOURCE_DIR "/demo/points.csv";

TEST(Together, TheDemosLeavesStandBesideThemselvesAlone) {
  const Folder folder;
  const Ended run = folder.run({"together", points, "--group", "treatment", "--sweeps", "3000",
                                "--out", "t.csv", "--json", "t.json"});
  ASSERT_LE(run.code, 1) << run.err;
  const json found = json::parse(folder.read("t.json"));
  ASSERT_EQ(found["groups"].size(), 2U);
  EXPECT_EQ(found["temperature"], "at 25 degC by bernacchi-2001");
  const auto truth = demo_truth();
  int leaves = 0, held = 0;
  for (const json& group : found["groups"]) {
    for (const json& leaf : group["leaves"]) {
      EXPECT_EQ(leaf["shrunken"], true);
      const json& v = leaf["together"]["Vcmax"];
      EXPECT_LT(v["low"].get<double>(), v["median"].get<double>());
      const double Vcmax25 = truth.at(leaf["curve_id"].get<std::string>()).at("Vcmax25");
      held += v["low"].get<double>() <= Vcmax25 && Vcmax25 <= v["high"].get<double>() ? 1 : 0;
      ++leaves;
    }
  }
  EXPECT_GE(leaves, 20);
  EXPECT_GE(held, leaves * 8 / 10);
  EXPECT_NE(folder.read("t.csv").find(",shrunken,"), std::string::npos);
  EXPECT_NE(run.out.find("not for comparing groups"), std::string::npos) << run.out;
}

TEST(Together, TheSameSeedGivesTheSameBytes) {
  const Folder folder;
  const std::vector<std::string> call = {"together", points, "--sweeps", "200", "--json", "-"};
  EXPECT_EQ(folder.run(call).out, folder.run(call).out);
}

TEST(Together, AGroupColumnThatIsNotThere) {
  const Folder folder;
  const Ended run = folder.run({"together", points, "--group", "tratment"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("tratment"), std::string::npos) << run.err;
  EXPECT_NE(run.err.find("treatment"), std::string::npos) << run.err;
}

TEST(Together, RdayHeldIsRefused) {
  const Folder folder;
  const Ended run = folder.run({"together", points, "--rday", "1"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("Rday is held"), std::string::npos) << run.err;
}

TEST(Together, TooFewLeavesAreNamed) {
  const Folder folder;
  const Ended run = folder.run({"together", points, "--only", "curve_id=vo-e2-1_aci"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("at least 4"), std::string::npos) << run.err;
}

TEST(Together, DifferentTemperaturesNeedAResponse) {
  const Folder folder;
  const Ended run = folder.run({"together", points, "--at25", "none"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("--at25"), std::string::npos) << run.err;
}

/// The value that `together` writes, by the table's own columns.
TEST(Together, ItsValuesAreRefusedByEveryAnalysis) {
  const Folder folder;
  const Ended made =
      folder.run({"together", points, "--sweeps", "200", "--out", "t.csv", "--json", "t.json"});
  ASSERT_LE(made.code, 1) << made.err;
  const std::vector<std::vector<std::string>> calls = {
      {"response", "t.csv", "--of", "temperature", "--parameter", "median"},
      {"agree", "t.csv", points, "--pathway", "c3"},
      {"agree", points, "t.json", "--pathway", "c3"}};
  for (const auto& call : calls) {
    const Ended run = folder.run(call);
    EXPECT_EQ(run.code, 4) << call[0] << run.err;
    EXPECT_NE(run.err.find("the group counts twice"), std::string::npos) << run.err;
    EXPECT_NE(run.err.find("own values"), std::string::npos) << run.err;
  }
}

TEST(Together, ATableWithBothKindsOfRowsPassesWhereOnlyTheOwnAreChosen) {
  const Folder folder;
  std::string table = "Tleaf,Vcmax,shrunken\n";
  for (const auto& [T, V] : {std::pair(15, 24), {20, 36}, {25, 52}, {30, 77}}) {
    table += std::to_string(T) + "," + std::to_string(V) + ",0\n";
    table += std::to_string(T) + "," + std::to_string(V + 1) + ",yes\n";
  }
  folder.write("both.csv", table);
  std::vector<std::string> call = {"response",    "both.csv",    "--of",
                                   "temperature", "--parameter", "Vcmax"};
  const Ended refused = folder.run(call);
  EXPECT_EQ(refused.code, 4) << refused.err;
  EXPECT_NE(refused.err.find("both.csv:3:"), std::string::npos) << refused.err;
  call.insert(call.end(), {"--only", "shrunken=0"});
  const Ended passed = folder.run(call);
  EXPECT_EQ(passed.code, 0) << passed.err;
  EXPECT_NE(passed.out.find("4 values"), std::string::npos) << passed.out;
}

}  // namespace
}  // namespace leafwright::cli_test
