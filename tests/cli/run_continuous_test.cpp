// Continuous logs of steps in a study: each hold of CO2 becomes one point. The log is simulated
// with known truth (the defaults of `rehearse`, printed by `leafwright settings`).
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

const std::string plain =
    "schema = 1\n[[log]]\nfile = \"leaf.csv\"\ninstrument = \"i.toml\"\n[fit]\npathway = \"c3\"\n";

void record(const Folder& folder) {
  const Ended made =
      folder.run({"rehearse", "--shape", "steps", "--steps",
                  "400,300,200,100,60,400,600,900,1200,1500", "--step-length", "120", "--seed", "5",
                  "--offset", "0,0,0", "--out", "leaf.csv", "--write-instrument", "i.toml"});
  ASSERT_EQ(made.code, 0) << made.err;
}

json fit_of(const Folder& folder, const std::string& study) {
  folder.write("study.toml", study);
  const Ended run = folder.run({"run", "study.toml", "--out", "o", "--force"});
  EXPECT_EQ(run.code, 0) << run.err;
  return json::parse(folder.read("o/fits.json"))["curves"][0];
}

TEST(RunContinuous, EachHoldIsOnePointAndGivesTheTruth) {
  const Folder folder;
  record(folder);
  const json fit = fit_of(folder, plain);
  EXPECT_EQ(fit["points"], 10);
  // What `rehearse` simulates: Vcmax 68, J 124, Rday 0.9.
  EXPECT_NEAR(fit["estimates"]["Vcmax"]["value"].get<double>(), 68, 0.02 * 68);
  EXPECT_NEAR(fit["estimates"]["J"]["value"].get<double>(), 124, 0.02 * 124);
  EXPECT_NEAR(fit["estimates"]["Rday"]["value"].get<double>(), 0.9, 0.2);
  // Every point leads to the first row of the log that is in its mean: the last 30 s of 120 s.
  std::istringstream points(folder.read("o/points.csv"));
  std::string line;
  std::getline(points, line);
  std::getline(points, line);
  const std::size_t from = line.find("leaf.csv,") + 9;
  const int first = std::stoi(line.substr(from));
  EXPECT_GE(first, 88);
  EXPECT_LE(first, 96);
}

TEST(RunContinuous, OffTakesEveryRow) {
  const Folder folder;
  record(folder);
  const json fit = fit_of(folder, plain + "[screen]\ncontinuous = \"off\"\n");
  EXPECT_GT(fit["points"].get<int>(), 1000);
}

TEST(RunContinuous, OneRowAPointIsNoContinuousLog) {
  const Folder folder;
  record(folder);
  std::istringstream log(folder.read("leaf.csv"));
  std::string line, thinned;
  for (int n = 0; std::getline(log, line); ++n) {
    if (n == 0 || n % 120 == 115) thinned += line + "\n";
  }
  folder.write("leaf.csv", thinned);
  const json fit = fit_of(folder, plain);
  EXPECT_EQ(fit["points"], 10);
  EXPECT_EQ(folder.read("o/report.html").find("of the mean of each hold"), std::string::npos);
}

TEST(RunContinuous, TheSamplesTableMayNameTheLog) {
  const Folder folder;
  record(folder);
  const double before = fit_of(folder, plain)["estimates"]["J"]["value"].get<double>();
  folder.write("samples.csv", "file,curve_id,area\nleaf.csv,rehearsal,8\n");
  const double after =
      fit_of(folder, plain + "[samples]\nfile = \"samples.csv\"\n")["estimates"]["J"]["value"]
          .get<double>();
  EXPECT_NEAR(before / after, 2, 0.1);  // 4 cm2 in the log
}

TEST(RunContinuous, OnWithoutAHoldIsSaid) {
  const Folder folder;
  ASSERT_EQ(folder.run({"rehearse", "--out", "leaf.csv", "--write-instrument", "i.toml"}).code, 0);
  folder.write("study.toml", plain + "[screen]\ncontinuous = \"on\"\nhold-shortest = 3000\n");
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  EXPECT_NE(run.code, 0);
}

}  // namespace
}  // namespace leafwright::cli_test
