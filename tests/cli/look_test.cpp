// `leafwright look`.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

TEST(Look, ShowsColumnsOnStandardOutput) {
  const Folder folder;
  folder.write("p.csv", points_csv(2));
  const Ended run = folder.run({"look", "p.csv"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.err, "");
  EXPECT_EQ(run.out.find("p.csv: 24 rows, 6 columns"), 0U) << run.out;
}

TEST(Look, JsonReplacesTheText) {
  const Folder folder;
  folder.write("p.csv", points_csv(2));
  const Ended run = folder.run({"look", "p.csv", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["rows"], 24);
  EXPECT_EQ(all["columns"][2]["symbol"], "Ci");
  EXPECT_EQ(all["proved"], false);
}

TEST(Look, OneLogThatCannotBeReadStopsNoOther) {
  const Folder folder;
  folder.write("p.csv", points_csv(1));
  const Ended run = folder.run({"look", "gone.csv", "p.csv"});
  EXPECT_EQ(run.code, 1);
  EXPECT_EQ(run.out.find("p.csv: "), 0U);
  EXPECT_NE(run.err.find("gone.csv"), std::string::npos);
  EXPECT_EQ(folder.run({"look", "gone.csv"}).code, 3);
}

TEST(Look, ReadsStandardInputAndWritesJson) {
  const Folder folder;
  const Ended run = folder.run({"look", "-", "--json", "look.json"}, points_csv(1));
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(json::parse(folder.read("look.json"))["file"], "standard input");
  EXPECT_EQ(folder.run({"look", "-", "--json", "look.json"}, points_csv(1)).code, 4);
}

}  // namespace
}  // namespace leafwright::cli_test
