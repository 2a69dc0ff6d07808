// A column map from physics alone, through the program: logs of strangers (newcomer/README.md) and
// the demo's. What is expected is what their writers said.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path strangers = fs::path(LEAFWRIGHT_TEST_DIR) / "cli" / "newcomer";
const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";

std::string bytes_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

json truth_of(const std::string& name) {
  return json::parse(bytes_of(strangers / (name + ".truth.json")));
}

class Stranger : public ::testing::TestWithParam<const char*> {};

TEST_P(Stranger, ColumnsAreWhatTheWriterSays) {
  const Folder folder;
  const json truth = truth_of(GetParam());
  const std::string file = truth["file"];
  folder.write(file, bytes_of(strangers / file));
  const Ended look = folder.run({"look", file, "--json", "-"});
  ASSERT_EQ(look.code, 0) << look.err;
  const json found = json::parse(look.out);
  std::size_t right = 0;
  for (const json& column : found["columns"]) {
    for (const char* key : {"symbol", "proposed"}) {
      if (column[key].is_null()) continue;
      const std::string symbol = column[key];
      // Streams per dry air are columns of their own, which the writer did not list as the main
      // one.
      if (!truth["columns"].contains(symbol)) continue;
      EXPECT_EQ(column["title"], truth["columns"][symbol]) << symbol;
      right += column["title"] == truth["columns"][symbol] ? 1U : 0U;
    }
  }
  EXPECT_GE(right, 9U);
}

INSTANTIATE_TEST_SUITE_P(Newcomers, Stranger,
                         ::testing::Values("werkbank", "huerto", "lehtimaja", "drybox",
                                           "kleinblatt"),
                         [](const auto& tested) { return std::string(tested.param); });

TEST(LookProposes, FromAStrangersLogToCapacities) {
  const Folder folder;
  folder.write("huerto.txt", bytes_of(strangers / "huerto.txt"));
  const Ended look = folder.run({"look", "huerto.txt", "--write-map", "map.toml"});
  ASSERT_EQ(look.code, 0) << look.err;
  folder.write("i.toml", "gbw_is = \"whole leaf\"\n");  // as the writer says: pores on one side
  folder.write("study.toml",
               "schema = 1\n[[log]]\nfile = \"huerto.txt\"\nmap = \"map.toml\"\n"
               "instrument = \"i.toml\"\nrole = \"steps\"\n[fit]\npathway = \"c3\"\n");
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  ASSERT_LE(run.code, 1) << run.err;
  const json fits = json::parse(folder.read("o/fits.json"));
  const json truth = truth_of("huerto");
  ASSERT_EQ(fits["curves"].size(), truth["leaves"].size());
  for (std::size_t i = 0; i < truth["leaves"].size(); ++i) {
    const double Vcmax = fits["curves"][i]["estimates"]["Vcmax"]["value"];
    EXPECT_NEAR(Vcmax / truth["leaves"][i]["Vcmax"].get<double>(), 1, 0.08) << i;
  }
}

TEST(LookProposes, TheDemosLogAndFluxTakesTheMap) {
  const Folder folder;
  folder.write("log.txt", bytes_of(demo / "terrace-1.txt"));
  ASSERT_EQ(folder.run({"look", "log.txt", "--write-map", "map.toml"}).code, 0);
  const std::string map = folder.read("map.toml");
  EXPECT_NE(map.find("flow = {title = \"stream\", unit = \"mmol s-1\"}"), std::string::npos) << map;
  EXPECT_NE(map.find("# Proved"), std::string::npos);
  const Ended again = folder.run({"look", "log.txt", "--map", "map.toml", "--json", "-"});
  ASSERT_EQ(again.code, 0) << again.err;
  EXPECT_EQ(json::parse(again.out)["proved"], true);
  const Ended flux = folder.run(
      {"flux", "log.txt", "--map", "map.toml", "--gbw-is", "per side", "--out", "o.csv"});
  EXPECT_EQ(flux.code, 0) << flux.err;
}

TEST(LookProposes, AFactorOfTheAreaIsToldAndTheMapIsNotComplete) {
  const Folder folder;
  folder.write("k.tsv", bytes_of(strangers / "kleinblatt.tsv"));
  const Ended look = folder.run({"look", "k.tsv", "--write-map", "map.toml"});
  EXPECT_EQ(look.code, 1);
  EXPECT_NE(look.err.find("map.toml is not complete"), std::string::npos) << look.err;
  // The area column says 2 cm2, the fluxes were made with 6.
  EXPECT_NE(look.out.find("0.3333"), std::string::npos) << look.out;
  EXPECT_NE(folder.read("map.toml").find("NOT PROVED"), std::string::npos);
}

TEST(LookProposes, NothingRecordedIsNotGuessed) {
  const Folder folder;
  folder.write("r.txt", bytes_of(demo / "terrace-ramps.txt"));  // no fluxes in it
  const Ended look = folder.run({"look", "r.txt", "--write-map", "map.toml"});
  EXPECT_EQ(look.code, 4);
  EXPECT_NE(look.err.find("no column map to write: "), std::string::npos) << look.err;
  EXPECT_FALSE(folder.has("map.toml"));
}

TEST(LookProposes, TooFewRowsAreSaid) {
  const Folder folder;
  folder.write("few.csv", "a,b,c\n1,2,3\n2,3,4\n");
  const Ended look = folder.run({"look", "few.csv", "--write-map", "map.toml"});
  EXPECT_EQ(look.code, 4);
  EXPECT_NE(look.err.find("nothing to search: 2 rows"), std::string::npos) << look.err;
}

}  // namespace
}  // namespace leafwright::cli_test
