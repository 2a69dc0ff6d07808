// Responses in a study: `leafwright run` on the demo's curves at four temperatures.
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

void copy_study(const Folder& folder) {
  const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";
  fs::create_directories(folder.path() / "temperature");
  fs::copy_file(demo / "recorder.toml", folder.path() / "recorder.toml");
  for (const char* name : {"study.toml", "bench.csv", "samples.csv"}) {
    fs::copy_file(demo / "temperature" / name, folder.path() / "temperature" / name);
  }
}

/// The study with `from` replaced by `to` (once).
void change_study(const Folder& folder, const std::string& from, const std::string& to) {
  std::string text = folder.read("temperature/study.toml");
  const std::size_t at = text.find(from);
  ASSERT_NE(at, std::string::npos) << from;
  folder.write("temperature/study.toml", text.replace(at, from.size(), to));
}

Ended run_it(const Folder& folder) {
  return folder.run({"run", "temperature/study.toml", "--out", "o"});
}

/// The truth stands in demo/temperature.hpp: 66 and 47 kJ mol-1.
TEST(RunResponse, CurvesAtFourTemperaturesGiveTheActivationEnergies) {
  const Folder folder;
  copy_study(folder);
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  for (const char* name : {"o/responses.csv", "o/responses.csv.meta.json", "o/responses.json",
                           "o/figures/responses/Vcmax.svg", "o/figures/responses/J.svg"}) {
    EXPECT_TRUE(folder.has(name)) << name;
  }
  const json made = json::parse(folder.read("o/responses.json"));
  ASSERT_EQ(made["responses"].size(), 2U);
  const double truth[] = {66, 47};
  for (std::size_t i = 0; i < 2; ++i) {
    const json& response = made["responses"][i];
    EXPECT_EQ(response["n"], 24);
    const json& Ha = response["estimates"]["Ha"];
    // Three standard errors either way, and no wider than 3 kJ mol-1: the answer is no empty one.
    EXPECT_NEAR(Ha["value"].get<double>(), truth[i], 3 * Ha["se"].get<double>());
    EXPECT_LT(Ha["high"].get<double>() - Ha["low"].get<double>(), 3);
  }
  EXPECT_EQ(made["settings"]["leaf"]["value"], "leaf_id") << made["settings"].dump();
  EXPECT_NE(run.out.find("Responses"), std::string::npos);
  const std::string page = folder.read("o/report.html");
  EXPECT_NE(page.find("<h2 id=\"responses\">"), std::string::npos);
  EXPECT_NE(page.find("The response of Vcmax was fitted as"), std::string::npos);
}

TEST(RunResponse, TheTableOfFitsCarriesTheSamplesTable) {
  const Folder folder;
  copy_study(folder);
  ASSERT_EQ(run_it(folder).code, 0);
  const std::string fits = folder.read("o/fits.csv");
  const std::string head = fits.substr(0, fits.find('\n'));
  EXPECT_TRUE(head.ends_with(",leaf_id,plant_id,species,set_temperature")) << head;
  const std::size_t row = fits.find("lt-t2-1_30C,");
  ASSERT_NE(row, std::string::npos);
  const std::string line = fits.substr(row, fits.find('\n', row) - row);
  EXPECT_TRUE(line.ends_with(",lt-t2-1,lt-t2,lantern tansel,30")) << line;
}

TEST(RunResponse, WithoutASectionThereIsNone) {
  const Folder folder;
  copy_study(folder);
  const std::string text = folder.read("temperature/study.toml");
  folder.write("temperature/study.toml", text.substr(0, text.find("[response]")));
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_FALSE(folder.has("o/responses.csv"));
  EXPECT_EQ(folder.read("o/report.html").find("id=\"responses\""), std::string::npos);
}

TEST(RunResponse, SettingsWithoutOfAreAWrongCall) {
  const Folder folder;
  copy_study(folder);
  change_study(folder, "of = \"temperature\"\n", "");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("[response] has 'parameter' but no 'of'"), std::string::npos) << run.err;
  EXPECT_FALSE(folder.has("o"));
}

TEST(RunResponse, AColumnThatIsNotThereStopsNoFit) {
  const Folder folder;
  copy_study(folder);
  change_study(folder, "leaf = \"leaf_id\"", "leaf = \"leaf_name\"");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("leaf_name"), std::string::npos) << run.err;
  EXPECT_TRUE(folder.has("o/fits.csv"));
  EXPECT_NE(folder.read("o/report.html").find("no response was fitted"), std::string::npos);
}

TEST(RunResponse, AGroupThatCannotBeFittedIsNamed) {
  const Folder folder;
  copy_study(folder);
  change_study(folder, "leaf = \"leaf_id\"", "group = \"set_temperature\"");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("response of Vcmax in 18"), std::string::npos) << run.err;
  EXPECT_NE(folder.read("o/report.html").find("could not be fitted"), std::string::npos);
}

TEST(RunResponse, StomataAreFittedFromThePoints) {
  const Folder folder;
  copy_study(folder);
  change_study(
      folder,
      "of = \"temperature\"\nparameter = [\"Vcmax\", \"J\"]\nleaf = \"leaf_id\"\nat = [25, 30]",
      "of = \"stomata\"");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(folder.read("o/responses.json"));
  ASSERT_EQ(made["responses"].size(), 1U);
  // Rows without net uptake say nothing of a model of gsw over A; each is named.
  const json& response = made["responses"][0];
  EXPECT_EQ(response["n"].get<std::size_t>() + response["excluded"].size(), 264U);
  EXPECT_GT(response["n"].get<int>(), 200);
}

}  // namespace
}  // namespace leafwright::cli_test
