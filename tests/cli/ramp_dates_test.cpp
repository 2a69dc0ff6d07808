// `leafwright ramp` with empty records of several dates: the nearest are used, not all together.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

void rehearse(const Folder& folder, const std::string& name, std::vector<std::string> more) {
  std::vector<std::string> call = {"rehearse", "--out",     name,  "--co2-start",
                                   "50",       "--co2-end", "1000"};
  call.insert(call.end(), more.begin(), more.end());
  const Ended made = folder.run(call);
  ASSERT_EQ(made.code, 0) << made.err;
}

/// Empties of two dates; on the second the sample cell reads 3 umol/mol more.
void empties(const Folder& folder) {
  rehearse(folder, "e1.csv",
           {"--leaf", "none", "--date", "2025-05-02", "--seed", "1", "--offset", "0.3,-0.9,0.5",
            "--write-instrument", "instrument.toml"});
  rehearse(folder, "e2.csv",
           {"--leaf", "none", "--date", "2025-05-20", "--seed", "2", "--offset", "3.3,-0.9,0.5"});
}

Ended corrected(const Folder& folder, const std::string& leaf) {
  return folder.run({"ramp", leaf, "--empty", "e1.csv", "--empty", "e2.csv", "--instrument",
                     "instrument.toml", "--out", "p.csv", "--json", "r.json", "--force"});
}

TEST(RampDates, TheEmptiesNearestToTheLeafAreUsed) {
  const Folder folder;
  empties(folder);
  rehearse(folder, "late.csv", {"--date", "2025-05-19", "--seed", "5", "--offset", "3.3,-0.9,0.5"});
  const Ended run = corrected(folder, "late.csv");
  ASSERT_EQ(run.code, 0) << run.err;
  const json told = json::parse(folder.read("r.json"));
  EXPECT_EQ(told["path"]["records"], json::array({"e2.csv"}));
  bool said = false, changed = false;
  for (const json& note : told["ramps"][0]["notes"]) {
    said = said || note["about"] == "empty-of-date";
    changed = changed || note["about"] == "cell-difference-changed";
  }
  EXPECT_TRUE(said);
  EXPECT_TRUE(changed);  // 3 umol/mol between the dates
}

TEST(RampDates, ALeafWithoutADateIsToldWhatIsMissing) {
  const Folder folder;
  empties(folder);
  rehearse(folder, "leaf.csv", {"--seed", "5"});
  const Ended run = corrected(folder, "leaf.csv");
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("empty records of several dates (2025-05-02, 2025-05-20)"),
            std::string::npos)
      << run.err;
}

}  // namespace
}  // namespace leafwright::cli_test
