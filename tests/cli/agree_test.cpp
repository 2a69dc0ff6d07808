// `leafwright agree` on the published pairs (Braun et al. 2024) and on broken calls.
#include <gtest/gtest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

/// A leaf's points by the C3 model at 25 degC, written out here: Km 710.3, G* 42.75.
std::string points(const std::string& method, int leaves, double factor) {
  std::string csv = "leaf_id,plant_id,method,curve_id,A,Ci,Tleaf,Patm\n";
  for (int leaf = 0; leaf < leaves; ++leaf) {
    const double V = (50 + 6 * leaf) * factor * (1 + 0.01 * ((leaf * 7) % 5 - 2)), J = 1.7 * V;
    int k = 0;
    for (const double Ci : {60., 110., 180., 260., 340., 450., 650., 900., 1200.}) {
      const double W = std::min(V * Ci / (Ci + 710.3), J * Ci / (4 * Ci + 8 * 42.75));
      const double A = (1 - 42.75 / Ci) * W - 1 + 0.05 * ((k++ * 5 + leaf) % 3 - 1);
      const std::string id = "L" + std::to_string(leaf);
      csv += id + ",p" + std::to_string(leaf) + "," + method + "," + id + "_" + method + "," +
             std::to_string(A) + "," + std::to_string(Ci) + ",25,101.325\n";
    }
  }
  return csv;
}

TEST(Agree, EqualMethodsAreEquivalentWithinAMarginStatedBeforehand) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 8, 1.0));
  folder.write("b.csv", points("steady", 8, 1.005));
  const Ended run = folder.run({"agree", "a.csv", "b.csv", "--pathway", "c3", "--margin", "10%",
                                "--bands", "200", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("equivalent within the stated margin"), std::string::npos)
      << run.out.substr(0, 2000);
}

TEST(Agree, WithoutAMarginNothingIsCalledEquivalent) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 8, 1.0));
  folder.write("b.csv", points("steady", 8, 1.005));
  const Ended run = folder.run({"agree", "a.csv", "b.csv", "--pathway", "c3", "--bands", "200"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.out.find("equivalent within the stated margin"), std::string::npos) << run.out;
}

TEST(Agree, AnotherMethodIsDifferentBeyondTheMargin) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 8, 1.3));
  folder.write("b.csv", points("steady", 8, 1.0));
  const Ended run = folder.run(
      {"agree", "a.csv", "b.csv", "--pathway", "c3", "--margin", "10%", "--bands", "200"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("Vcmax: different beyond the margin"), std::string::npos) << run.out;
}

TEST(Agree, FewLeavesShowNothingEitherWay) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 2, 1.0));
  folder.write("b.csv", points("steady", 2, 1.08));
  const Ended run = folder.run(
      {"agree", "a.csv", "b.csv", "--pathway", "c3", "--margin", "10%", "--bands", "200"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("not shown either way"), std::string::npos) << run.out;
}

TEST(Agree, FiguresAndJsonHoldEveryLeaf) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 6, 1.0));
  folder.write("b.csv", points("steady", 6, 1.02));
  const Ended run =
      folder.run({"agree", "a.csv", "b.csv", "--pathway", "c3", "--margin", "10%", "--bands", "200",
                  "--json", "-", "--out", "r.csv", "--figures", "f"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["command"], "agree");
  EXPECT_EQ(all["schema"], 1);
  EXPECT_EQ(all["inputs"].size(), 2U);
  EXPECT_TRUE(folder.has("r.csv"));
  EXPECT_TRUE(folder.has("r.csv.meta.json"));
  for (const char* name : {"f/ratios.svg", "f/difference.svg", "f/leaf-L0.svg", "f/leaf-L5.svg"}) {
    ASSERT_TRUE(folder.has(name)) << name;
    const std::string svg = folder.read(name);
    EXPECT_EQ(svg.find("nan"), std::string::npos) << name;
    EXPECT_NE(svg.find("<title"), std::string::npos) << name;
  }
  EXPECT_NE(folder.read("f/ratios.svg").find("L5"), std::string::npos);
}

TEST(Agree, WrongCallsAreTold) {
  const Folder folder;
  folder.write("a.csv", points("ramp", 3, 1.0));
  folder.write("b.csv", points("steady", 3, 1.0));
  Ended run = folder.run({"agree", "a.csv", "b.csv", "--pathway", "c3", "--margin", "10"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("margin"), std::string::npos) << run.err;
  run = folder.run({"agree", "a.csv", "--pathway", "c3"});
  EXPECT_EQ(run.code, 2) << run.err;
  run = folder.run({"agree", "a.csv", "b.csv", "--pathway", "c3", "--leaf", "blatt"});
  EXPECT_NE(run.code, 0);
  EXPECT_NE(run.err.find("blatt"), std::string::npos) << run.err;
  folder.write("c.csv",
               "leaf_id,curve_id,A,Ci,Tleaf,Patm\nother,x,5,200,25,100\nother,x,8,400,25,100\n");
  run = folder.run({"agree", "a.csv", "c.csv", "--pathway", "c3"});
  EXPECT_NE(run.code, 0);
  EXPECT_FALSE(run.err.empty());
}

}  // namespace
}  // namespace leafwright::cli_test
