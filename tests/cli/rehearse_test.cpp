// leafwright rehearse: what it writes, and what it refuses.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

TEST(Rehearse, WritesRecordEmptyTruthAndInstrument) {
  const Folder folder;
  const Ended run = folder.run({"rehearse", "--out", "ramp.csv", "--empty", "empty.csv",
                                "--write-instrument", "instrument.toml", "--rate", "200"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(folder.names(),
            (std::vector<std::string>{"empty.csv", "empty.truth.csv", "empty.truth.json",
                                      "instrument.toml", "ramp.csv", "ramp.truth.csv",
                                      "ramp.truth.json"}));
  const auto truth = nlohmann::json::parse(folder.read("ramp.truth.json"));
  EXPECT_EQ(truth["source"]["rate"], 200);
  EXPECT_FALSE(truth["empty"]);
  EXPECT_TRUE(nlohmann::json::parse(folder.read("empty.truth.json"))["empty"]);
  EXPECT_NE(run.out.find("lag of the sample record"), std::string::npos);
}

TEST(Rehearse, ASeedDecidesEveryByte) {
  const Folder folder;
  ASSERT_EQ(folder.run({"rehearse", "--out", "a.csv", "--seed", "5"}).code, 0);
  ASSERT_EQ(folder.run({"rehearse", "--out", "b.csv", "--seed", "5"}).code, 0);
  ASSERT_EQ(folder.run({"rehearse", "--out", "c.csv", "--seed", "6"}).code, 0);
  EXPECT_EQ(folder.read("a.csv"), folder.read("b.csv"));
  EXPECT_NE(folder.read("a.csv"), folder.read("c.csv"));
  EXPECT_EQ(folder.read("a.truth.csv"), folder.read("c.truth.csv"));
}

TEST(Rehearse, APlanIsReadAndOptionsStandAboveIt) {
  const Folder folder;
  folder.write("plan.toml", "rate = 120\nvcmax = 55\n");
  const Ended run =
      folder.run({"rehearse", "plan.toml", "--out", "a.csv", "--rate", "90", "--json", "-"});
  EXPECT_EQ(run.code, 0) << run.err;
  const auto truth = nlohmann::json::parse(run.out);
  EXPECT_EQ(truth["source"]["rate"], 90);
  EXPECT_EQ(truth["leaf"]["Vcmax"], 55);
}

TEST(Rehearse, AnUnknownKeyEndsWith2AndWritesNothing) {
  const Folder folder;
  folder.write("plan.toml", "rate = 120\nvcmx = 55\n");
  const Ended run = folder.run({"rehearse", "plan.toml", "--out", "a.csv"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("plan.toml:2:8: unknown setting 'vcmx'; did you mean 'vcmax'?"),
            std::string::npos)
      << run.err;
  EXPECT_EQ(folder.names(), std::vector<std::string>{"plan.toml"});
  EXPECT_EQ(folder.run({"rehearse", "--out", "a.csv", "--vcmx", "3"}).code, 2);
  EXPECT_EQ(folder.run({"rehearse"}).code, 2);
  EXPECT_EQ(folder.run({"rehearse", "none.toml", "--out", "a.csv"}).code, 3);
}

TEST(Rehearse, NothingIsOverwrittenUnasked) {
  const Folder folder;
  folder.write("a.truth.json", "mine");
  EXPECT_EQ(folder.run({"rehearse", "--out", "a.csv"}).code, 4);
  EXPECT_EQ(folder.names(), std::vector<std::string>{"a.truth.json"});
  EXPECT_EQ(folder.run({"rehearse", "--out", "a.csv", "--force"}).code, 0);
  EXPECT_EQ(folder.run({"rehearse", "--out", "b.csv", "--empty", "b.csv"}).code, 2);
}

TEST(Rehearse, ToStandardOutputGoesTheRecordAlone) {
  const Folder folder;
  const Ended run = folder.run({"rehearse", "--out", "-", "--shape", "hold", "--hold-before", "2"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_TRUE(run.out.starts_with("time_s,CO2r,CO2s,")) << run.out;
  EXPECT_TRUE(folder.names().empty());
}

}  // namespace
}  // namespace leafwright::cli_test
