// `leafwright flux`.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

const std::string head = "curve_id,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Tair,Patm,gbw\n";
const std::string row = "a,400,390,15,20,400,6,25,25,100,2500\n";
const std::string chamber = "gbw_is = \"whole leaf\"\n";

struct Case : Folder {
  Case() {
    write("log.csv", head + row);
    write("chamber.toml", chamber);
  }
  [[nodiscard]] Ended flux(std::vector<std::string> more) const {
    std::vector<std::string> all = {"flux", "log.csv", "--instrument", "chamber.toml"};
    all.insert(all.end(), more.begin(), more.end());
    return run(all);
  }
};

TEST(Flux, WritesTheTableAndWhereEverythingCameFrom) {
  const Case c;
  c.write("leaves.csv", "curve_id,area,species\na,4,oak\n");
  const Ended run = c.flux({"--samples", "leaves.csv", "--out", "points.csv"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.err.find("wrote points.csv, points.csv.meta.json"), std::string::npos);
  EXPECT_NE(run.out.find("area = 4 cm2 (samples table); NOT the same: log column: 6 cm2"),
            std::string::npos)
      << run.out;
  const std::string csv = c.read("points.csv");
  EXPECT_EQ(csv.find(head.substr(0, head.size() - 1) + ",E,A,gsw,Ci,VPDleaf,flags,use,why\n"), 0U)
      << csv;
  const json meta = json::parse(c.read("points.csv.meta.json"));
  EXPECT_EQ(meta["command"], "flux");
  EXPECT_EQ(meta["schema"], 1);
  EXPECT_EQ(meta["inputs"].size(), 3U);
  EXPECT_EQ(meta["settings"]["vapour-pressure"]["value"], "leaf-common");
  EXPECT_EQ(meta["settings"]["vapour-pressure"]["origin"], "default");
  EXPECT_EQ(meta["sources"][0]["quantity"], "area");
  EXPECT_EQ(meta["sources"][0]["from"], "samples table");
  EXPECT_EQ(meta["sources"][0]["disagree"], true);
  EXPECT_EQ(meta["cut"], "column");
}

TEST(Flux, JsonAndCsvOnStandardOutput) {
  const Case c;
  const Ended as_json = c.flux({"--json", "-"});
  ASSERT_EQ(as_json.code, 0) << as_json.err;
  EXPECT_EQ(json::parse(as_json.out)["curves"][0]["used"], 1);
  const Ended as_csv = c.flux({"--out", "-"});
  EXPECT_EQ(as_csv.out.find("curve_id,"), 0U);
  EXPECT_EQ(c.flux({"--out", "-", "--json", "-"}).code, 2);
}

TEST(Flux, EndsAsDocumented) {
  const Case c;
  c.write("kept.csv", "mine");
  EXPECT_EQ(c.flux({"--out", "kept.csv"}).code, 4);
  EXPECT_EQ(c.read("kept.csv"), "mine");
  EXPECT_EQ(c.flux({"--out", "log.csv", "--force"}).code, 4);
  EXPECT_EQ(c.flux({"--out", "chamber.toml", "--force"}).code, 4);
  EXPECT_EQ(c.flux({"--area", "none"}).code, 2);
  EXPECT_EQ(c.flux({"--time-zone", "Europe/Nowhere"}).code, 2);
  EXPECT_EQ(c.flux({"--samples", "gone.csv"}).code, 3);
  EXPECT_EQ(c.run({"flux", "log.csv", "log.csv"}).code, 2);
  c.write("chamber.toml", chamber + "volume = \"3 mL\"\n");
  const Ended unknown = c.flux({});
  EXPECT_EQ(unknown.code, 2);
  EXPECT_NE(unknown.err.find("chamber.toml:2:1: unknown key 'volume'"), std::string::npos)
      << unknown.err;
  c.write("chamber.toml", "chamber_volume = 3\n");
  EXPECT_EQ(c.flux({}).code, 3);
}

TEST(Flux, ItsOwnTableIsNotPutThroughItAgain) {
  const Case c;
  c.write("log.csv", "A,E," + head + "5,2," + row);
  ASSERT_EQ(c.flux({"--out", "once.csv"}).code, 0);
  const Ended again =
      c.run({"flux", "once.csv", "--instrument", "chamber.toml", "--out", "twice.csv"});
  EXPECT_EQ(again.code, 4);
  EXPECT_NE(again.err.find("_recorded' are both in the log"), std::string::npos) << again.err;
  EXPECT_FALSE(c.has("twice.csv"));
}

TEST(Flux, ACurveWithoutARowIsNamed) {
  const Case c;
  c.write("log.csv", head + row + "b,400,,15,20,400,6,25,25,100,2500\n");
  const Ended run = c.flux({"--out", "points.csv"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("curve 'b': none of its 1 row can be used; the first: CO2s is missing"),
            std::string::npos)
      << run.err;
  EXPECT_NE(c.read("points.csv").find(",0,CO2s is missing\n"), std::string::npos);
}

TEST(Flux, OnlyKeepsEveryRow) {
  const Case c;
  c.write("log.csv", head + row + "b" + row.substr(1));
  ASSERT_EQ(c.flux({"--only", "curve_id=b", "--out", "points.csv"}).code, 0);
  EXPECT_NE(c.read("points.csv").find(",0,left out by --only\n"), std::string::npos);
}

// Published steady rows (Braun et al. 2024, tests/published/data/paired/README.md; CC BY 4.0)
// through the program itself: gsw and Ci from the recorded A and E, A and E from the streams.
TEST(Flux, OfAPublishedLog) {
  const Folder folder;
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/paired/points.csv");
  std::string line, text;
  std::getline(file, text);
  text += "\n";
  while (std::getline(file, line)) {
    if (line.find(",steady,") != std::string::npos) text += line + "\n";
  }
  folder.write("log.csv", text);
  folder.write("map.toml",
               "[columns]\noverpressure = {title = \"chamber_overpressure\", unit = \"kPa\"}\n");
  folder.write("chamber.toml", "gbw_is = \"per side\"\n");
  for (const std::string from : {"recorded", "mole-fractions"}) {
    const Ended run = folder.run({"flux", "log.csv", "--map", "map.toml", "--instrument",
                                  "chamber.toml", "--fluxes", from, "--out", from + ".csv"});
    ASSERT_EQ(run.code, 0) << run.err;
    std::istringstream rows(folder.read(from + ".csv"));
    std::vector<std::string> names;
    std::size_t n = 0;
    while (std::getline(rows, line)) {
      std::vector<std::string> cells(1);
      for (const char character : line) {
        if (character == ',') {
          cells.emplace_back();
        } else {
          cells.back() += character;
        }
      }
      if (names.empty()) {
        names = cells;
        continue;
      }
      ++n;
      const auto at = [&](const std::string& name) {
        const auto found = std::find(names.begin(), names.end(), name);
        return std::stod(cells.at(static_cast<std::size_t>(found - names.begin())));
      };
      if (from == "recorded") {
        EXPECT_NEAR(at("gsw") / at("gsw_recorded"), 1, 1e-6);
        EXPECT_NEAR(at("Ci") / at("Ci_recorded"), 1, 1e-6);
      } else {
        // CO2 of ten digits up to 2000 umol mol-1: 5e-7 of it, times flow/(100 area) = 0.83.
        EXPECT_NEAR(at("A"), at("A_steady_eq"), 1e-6);
        EXPECT_NEAR(at("E"), at("E_steady_eq"), 2e-8);
      }
    }
    EXPECT_EQ(n, 68U);
  }
}

TEST(Flux, PlateausOfAContinuousLogAndTheirFit) {
  const Folder folder;
  std::string text = "time_s,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Tair,Patm,gbw\n";
  int t = 0;
  for (const int level : {400, 200, 100, 400, 800}) {
    for (int i = 0; i < 60; ++i, ++t) {
      text += std::to_string(t) + "," + std::to_string(level) + "," +
              std::to_string(level * 0.98 - 2 + 0.01 * (i % 3)) + ",15,20,400,6,25,25,100,2500\n";
    }
  }
  folder.write("log.csv", text);
  folder.write("chamber.toml", chamber);
  const Ended run =
      folder.run({"flux", "log.csv", "--instrument", "chamber.toml", "--plateaus", "points.csv"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("5 plateaus of CO2r averaged"), std::string::npos) << run.out;
  EXPECT_TRUE(folder.has("points.csv.meta.json"));
  const Ended looked = folder.run({"look", "points.csv"});
  EXPECT_EQ(looked.out.find("points.csv: 5 rows"), 0U) << looked.out;
  EXPECT_EQ(
      folder.run({"flux", "log.csv", "--instrument", "chamber.toml", "--plateaus", "points.csv"})
          .code,
      4);
}

}  // namespace
}  // namespace leafwright::cli_test
