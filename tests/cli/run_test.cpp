// `leafwright run` on the demo's study and on studies that are broken.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "cli/demo_truth.hpp"
#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";

void copy_demo(const Folder& folder) {
  for (const char* name : {"study.toml", "terrace.toml", "recorder.toml", "samples.csv",
                           "terrace-1.txt", "terrace-2.txt", "terrace-3.txt", "terrace-ramps.toml",
                           "terrace-empty.txt", "terrace-ramps.txt"}) {
    fs::copy_file(demo / name, folder.path() / name);
  }
}

TEST(Run, TheDemoFromForeignLogsToTheTruth) {
  const Folder folder;
  copy_demo(folder);
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  ASSERT_EQ(run.code, 0) << run.err;
  for (const char* name :
       {"o/points.csv", "o/points.csv.meta.json", "o/fits.csv", "o/fits.csv.meta.json",
        "o/fits.json", "o/report.html", "o/figures/contact-sheet.svg"}) {
    EXPECT_TRUE(folder.has(name)) << name;
  }
  const json fits = json::parse(folder.read("o/fits.json"));
  EXPECT_EQ(fits["curves"].size(), 29U);
  EXPECT_EQ(fits["failed"].size(), 0U);
  const auto leaves = demo_truth();
  int asked = 0, held = 0;
  for (const json& curve : fits["curves"]) {
    EXPECT_EQ(curve["certified"], true) << curve["curve_id"];
    const auto& leaf = leaves.at(curve["curve_id"].get<std::string>());
    if (leaf.at("unmarked_faults") > 0) continue;  // their fits cannot be trusted, by design
    for (const char* symbol : {"Vcmax", "J"}) {
      const json& e = curve["estimates"][symbol];
      if (e["low"].is_null() || e["high"].is_null()) continue;
      ++asked;
      // The truth moves with temperature inside a curve by a few tenths of a per cent.
      const double value = leaf.at(symbol), slack = 0.01 * value;
      held += e["low"].get<double>() - slack <= value && value <= e["high"].get<double>() + slack;
    }
  }
  EXPECT_GT(asked, 30);
  EXPECT_GE(held, asked * 85 / 100) << held << " of " << asked;
}

TEST(Run, AWrongAreaAndADamagedFileAreTold) {
  const Folder folder;
  copy_demo(folder);
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("area of lt-e2-1_aci: 6 cm2 from samples table; NOT the same: log column: "
                         "3.6"),
            std::string::npos)
      << run.out;
  EXPECT_NE(run.err.find("terrace-3.txt:106: the last line is cut"), std::string::npos) << run.err;
  const std::string page = folder.read("o/report.html");
  EXPECT_NE(page.find("id=\"logs\""), std::string::npos);
  EXPECT_NE(page.find("Sources that do not agree"), std::string::npos);
  EXPECT_NE(page.find("id=\"screening\""), std::string::npos);
  EXPECT_EQ(page.find("http-equiv=\"refresh\""), std::string::npos);
}

TEST(Run, TheSameBytesWithAnyNumberOfThreads) {
  const Folder folder;
  copy_demo(folder);
  ASSERT_EQ(folder.run({"run", "study.toml", "--out", "one", "--threads", "1"}).code, 0);
  ASSERT_EQ(folder.run({"run", "study.toml", "--out", "four", "--threads", "4"}).code, 0);
  EXPECT_EQ(folder.read("one/points.csv"), folder.read("four/points.csv"));
  EXPECT_EQ(folder.read("one/fits.csv"), folder.read("four/fits.csv"));
  EXPECT_EQ(folder.read("one/figures/contact-sheet.svg"),
            folder.read("four/figures/contact-sheet.svg"));
}

TEST(Run, NothingIsReplacedWithoutForce) {
  const Folder folder;
  copy_demo(folder);
  ASSERT_EQ(folder.run({"run", "study.toml", "--out", "o"}).code, 0);
  const Ended again = folder.run({"run", "study.toml", "--out", "o"});
  EXPECT_EQ(again.code, 4);
  EXPECT_NE(again.err.find("is not empty"), std::string::npos) << again.err;
  EXPECT_EQ(folder.run({"run", "study.toml", "--out", "o", "--force"}).code, 0);
}

TEST(Run, ALogThatCannotBeReadStopsNoOther) {
  const Folder folder;
  copy_demo(folder);
  fs::remove(folder.path() / "terrace-2.txt");
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("terrace-2.txt"), std::string::npos) << run.err;
  EXPECT_EQ(json::parse(folder.read("o/fits.json"))["curves"].size(), 21U);
}

TEST(Run, BrokenStudiesAreToldWithTheirPlace) {
  const Folder folder;
  copy_demo(folder);
  const std::string study = folder.read("study.toml");
  struct Case {
    std::string from, to;
    int code;
    std::string says;
  };
  const Case cases[] = {
      {"schema = 1", "schema = 2", 2, "schema"},
      {"title =", "titel =", 2, "titel"},
      {"role = \"steps\"", "role = \"stairs\"", 2, "stairs"},
      {"[fit]", "[fitt]", 2, "fitt"},
      {"pathway = \"c3\"", "pathway = \"c5\"", 2, "c5"},
      {"pathway = \"c3\"\n", "", 2, "pathway"},
      {"kinetics = \"bernacchi-2001\"", "kinetics = \"bernachi-2001\"", 2, "bernachi-2001"},
      {"Europe/Berlin", "Europe/Berlim", 2, "Europe/Berlim"},
      {"seed = 20250617", "seed = \"many\"", 2, "seed"},
      {"correction = \"forward\"", "corection = \"forward\"", 2, "corection"},
      {"correction = \"forward\"", "correction = \"backward\"", 2, "backward"},
      {"correction = \"forward\"", "empty = \"terrace-empty.txt\"", 2, "role = \"empty\""},
  };
  for (const Case& c : cases) {
    std::string broken = study;
    const std::size_t at = broken.find(c.from);
    ASSERT_NE(at, std::string::npos) << c.from;
    broken.replace(at, c.from.size(), c.to);
    folder.write("broken.toml", broken);
    const Ended run = folder.run({"run", "broken.toml", "--out", "b"});
    EXPECT_EQ(run.code, c.code) << c.to << "\n" << run.err;
    EXPECT_NE(run.err.find(c.says), std::string::npos) << c.to << "\n" << run.err;
    EXPECT_FALSE(folder.has("b")) << c.to;
  }
}

}  // namespace
}  // namespace leafwright::cli_test
