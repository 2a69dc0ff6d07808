// `leafwright pool`.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/demo_truth.hpp"
#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

const std::string demo = LEAFWRIGHT_SOURCE_DIR "/demo/";

/// Two groups of three leaves and one leaf that gives a bound, in the columns of `fit`.
const std::string small =
    "curve_id,plot,plant_id,Tleaf,Vcmax,Vcmax_se,Vcmax_low,Vcmax_high,Vcmax_status,Vcmax25,"
    "Vcmax25_low,Vcmax25_high,failed\n"
    "a1,A,p1,25,40,2,36,44,estimated,40,36,44,\n"
    "a2,A,p1,25,50,2,46,54,estimated,50,46,54,\n"
    "a3,A,p2,25,60,3,54,66,estimated,60,54,66,\n"
    "a4,A,p3,25,70,3,55,,lower bound,,55,,\n"
    "a5,A,p3,25,,,,,,,,,too few rows\n"
    "b1,B,p4,25,30,2,26,34,estimated,30,26,34,\n";

TEST(Pool, MeansAreThoseOfTheDemosLeaves) {
  const Folder folder;
  ASSERT_LE(folder.run({"fit", demo + "points.csv", "--pathway", "c3", "--out", "f.csv"}).code, 1);
  for (const std::string method : {"unweighted", "reml", "information"}) {
    const Ended run =
        folder.run({"pool", "f.csv", "--samples", demo + "samples.csv", "--group", "treatment",
                    "--pool", method, "--json", "p.json", "--out", "p.csv", "--force"});
    ASSERT_LE(run.code, 1) << run.err;
    const json found = json::parse(folder.read("p.json"));
    EXPECT_EQ(found["settings"]["pool"]["value"], method);
    const auto truth = demo_truth();
    int groups = 0;
    for (const json& mean : found["means"]) {
      if (mean["parameter"] != "Vcmax25") continue;
      ++groups;
      double sum = 0, n = 0;
      for (const json& leaf : mean["leaves"]) {
        EXPECT_EQ(leaf["shrunken"], false);
        if (leaf["left_out"] != "") continue;
        sum += std::log(truth.at(leaf["curve_id"].get<std::string>()).at("Vcmax25"));
        n += 1;
      }
      // Of these very leaves: nearer than the interval for their population.
      EXPECT_NEAR(mean["mean_on_scale"].get<double>(), sum / n, 0.04) << method;
      EXPECT_EQ(mean["n"], n);
      EXPECT_LT(mean["new_unit"]["low"].get<double>(), mean["low"].get<double>());
      for (const json& unit : mean["drawn_towards_the_mean"]) EXPECT_EQ(unit["shrunken"], true);
    }
    EXPECT_EQ(groups, 2) << method;
    EXPECT_NE(run.out.find("made for means of groups"), std::string::npos) << run.out;
    EXPECT_NE(run.out.find("no --plant was given"), std::string::npos) << run.out;
  }
}

TEST(Pool, ASmallTableByHand) {
  const Folder folder;
  folder.write("f.csv", small);
  const Ended run = folder.run({"pool", "f.csv", "--group", "plot", "--json", "-"});
  EXPECT_EQ(run.code, 1);  // group B has one leaf
  EXPECT_NE(run.err.find("B: Vcmax25: 1 value"), std::string::npos) << run.err;
  const json mean = json::parse(run.out)["means"][0];
  const double x = std::log(40), y = std::log(50), z = std::log(60);
  const double m = (x + y + z) / 3;
  const double s = std::sqrt(((x - m) * (x - m) + (y - m) * (y - m) + (z - m) * (z - m)) / 2);
  EXPECT_NEAR(mean["mean"].get<double>(), std::exp(m), 1e-9);
  EXPECT_NEAR(mean["high"].get<double>(), std::exp(m + 4.302653 * s / std::sqrt(3)), 1e-4);
  EXPECT_EQ(mean["n"], 3);
  EXPECT_EQ(mean["lower_bounds"], 1);
  EXPECT_EQ(mean["left_out"], 2);
  EXPECT_NE(run.out.find("likely too low"), std::string::npos);
}

TEST(Pool, PlantsAreCountedWhereTheyAreKnown) {
  const Folder folder;
  folder.write("f.csv", small);
  const Ended run = folder.run({"pool", "f.csv", "--only", "plot=A", "--plant", "plant_id"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("n counts plants"), std::string::npos) << run.out;
  const Ended data =
      folder.run({"pool", "f.csv", "--only", "plot=A", "--plant", "plant_id", "--json", "-"});
  const json mean = json::parse(data.out)["means"][0];
  EXPECT_EQ(mean["n"], 2);
  // The mean of p1 (40, 50) and p2 (60), on ln.
  EXPECT_NEAR(mean["mean"].get<double>(), std::sqrt(std::sqrt(40.0 * 50) * 60), 1e-9);
}

TEST(Pool, BoundsMayEnterAsBounds) {
  const Folder folder;
  folder.write("f.csv", small);
  const Ended run =
      folder.run({"pool", "f.csv", "--only", "plot=A", "--bounds", "censored", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json mean = json::parse(run.out)["means"][0];
  EXPECT_EQ(mean["bounds"], 1);
  EXPECT_EQ(mean["method"], "censored likelihood");
  EXPECT_GT(mean["mean"].get<double>(), std::cbrt(40.0 * 50 * 60));
  EXPECT_NE(run.out.find("enter as that bound"), std::string::npos);
}

TEST(Pool, ShrunkenValuesAreRefusedItsOwnToo) {
  const Folder folder;
  folder.write("f.csv", small);
  ASSERT_EQ(
      folder.run({"pool", "f.csv", "--only", "plot=A", "--out", "p.csv", "--json", "p.json"}).code,
      0);
  const std::string csv = folder.read("p.csv");
  EXPECT_NE(csv.find("shrunken"), std::string::npos);
  EXPECT_NE(csv.find(",mean,"), std::string::npos);
  const Ended again = folder.run({"pool", "p.csv"});
  EXPECT_EQ(again.code, 4) << again.err;
  EXPECT_NE(again.err.find("the group counts twice"), std::string::npos) << again.err;
  const Ended agree = folder.run({"agree", demo + "points.csv", "p.json", "--pathway", "c3"});
  EXPECT_EQ(agree.code, 4) << agree.err;
}

TEST(Pool, WhatCountsTwiceOrIsNoNumberIsSaid) {
  const Folder folder;
  folder.write("f.csv",
               "curve_id,leaf_id,method,Vcmax,Vcmax_se,Vcmax_low,Vcmax_high,Vcmax_status,Vcmax25\n"
               "a1,a,steps,50,1,48,52,estimated,50\n"
               "a2,a,ramp,55,1,53,57,estimated,55\n"
               "b1,b,steps,60,1,58,62,estimated,60\n"
               "c1,c,steps,40,1,38,42,estimated,4O\n");
  const Ended run = folder.run({"pool", "f.csv", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  for (const char* text : {"curves of several methods", "method=steps",
                           "several curves of one leaf", "'4O' is no number"}) {
    EXPECT_NE(run.out.find(text), std::string::npos) << text;
  }
  const Ended one = folder.run({"pool", "f.csv", "--only", "method=steps", "--json", "-"});
  EXPECT_EQ(one.out.find("curves of several methods"), std::string::npos);
  EXPECT_EQ(one.out.find("several curves of one leaf"), std::string::npos);
}

TEST(Pool, WrongCallsSayWhatToDo) {
  const Folder folder;
  folder.write("f.csv", small);
  Ended run = folder.run({"pool", "f.csv", "--group", "polt"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("did you mean 'plot'"), std::string::npos) << run.err;
  run = folder.run({"pool", "f.csv", "--parameter", "Vcmx"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("did you mean 'Vcmax'"), std::string::npos) << run.err;
  run = folder.run({"pool", demo + "points.csv"});
  EXPECT_EQ(run.code, 3);
  EXPECT_NE(run.err.find("points are fitted first"), std::string::npos) << run.err;
  run = folder.run({"pool", "f.csv", "--pool", "information", "--parameter", "J"});
  EXPECT_EQ(run.code, 2);
  folder.write("s.csv", "curve_id,plot2\na1,A\na1,B\n");
  run = folder.run({"pool", "f.csv", "--samples", "s.csv", "--group", "plot2"});
  EXPECT_EQ(run.code, 3);
  EXPECT_NE(run.err.find("two values of plot2"), std::string::npos) << run.err;
}

}  // namespace
}  // namespace leafwright::cli_test
