// `leafwright response`.
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

/// Vcmax = V25 exp[Ha/(R 298.15)(1 - 298.15/T)], two leaves, Ha 60, written out here anew.
std::string temperatures() {
  std::string csv = "leaf_id,Tleaf,Vcmax,J\n";
  for (const auto& [leaf, level] : {std::pair("a", 40.0), std::pair("b", 70.0)}) {
    int k = 0;
    for (const double T : {15.0, 20.0, 25.0, 30.0}) {
      const double f = std::exp(60e3 / (8.314462618 * 298.15) * (1 - 298.15 / (T + 273.15)));
      const double wiggle = k++ % 2 == 0 ? 1.01 : 0.99;
      csv += std::string(leaf) + "," + std::to_string(T) + "," +
             std::to_string(level * f * wiggle) + ",\n";
    }
  }
  return csv;
}

TEST(Response, TemperatureToJsonCsvAndFigure) {
  const Folder folder;
  folder.write("fits.csv", temperatures());
  const Ended run =
      folder.run({"response", "fits.csv", "--of", "temperature", "--parameter", "Vcmax", "--leaf",
                  "leaf_id", "--at", "35", "--json", "-", "--out", "r.csv", "--figures", "f"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["command"], "response");
  const json& fit = all["responses"][0];
  EXPECT_NEAR(fit["estimates"]["Ha"]["value"].get<double>(), 60, 2.5);
  EXPECT_NEAR(fit["estimates"]["Vcmax25"]["value"].get<double>(), std::sqrt(40.0 * 70), 1);
  EXPECT_LT(fit["estimates"]["Ha"]["low"], 60);
  EXPECT_GT(fit["estimates"]["Ha"]["high"], 60);
  EXPECT_EQ(fit["values"][0]["x"], 35);
  EXPECT_NE(run.out.find("beyond the measured temperatures"), std::string::npos);
  EXPECT_EQ(folder.read("r.csv").find("group,of,form,symbol,unit,value,se,low,high,status"), 0U);
  EXPECT_TRUE(folder.has("r.csv.meta.json"));
  EXPECT_TRUE(folder.has("f/Vcmax.svg"));
}

TEST(Response, AGroupThatCannotBeFittedIsNamedAndTheOthersGoOn) {
  const Folder folder;
  folder.write("fits.csv", temperatures());
  const Ended run = folder.run(
      {"response", "fits.csv", "--of", "temperature", "--parameter", "Vcmax", "--parameter", "J"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("J: "), std::string::npos) << run.err;
  EXPECT_NE(run.err.find("0 distinct temperatures"), std::string::npos) << run.err;
  EXPECT_NE(run.out.find("Vcmax, 8 values"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("no --leaf was given"), std::string::npos) << run.out;
}

TEST(Response, LightByCurve) {
  const Folder folder;
  std::string csv = "curve_id,Qin,A\n";
  for (const double Q : {0.0, 30.0, 60.0, 120.0, 250.0, 500.0, 1000.0, 1800.0}) {
    const double gross =
        (0.05 * Q + 25 - std::sqrt(std::pow(0.05 * Q + 25, 2) - 4 * 0.8 * 0.05 * Q * 25)) /
        (2 * 0.8);
    csv += "x," + std::to_string(Q) + "," + std::to_string(gross - 1.5) + "\n";
  }
  folder.write("light.csv", csv);
  const Ended run = folder.run({"response", "light.csv", "--of", "light", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json fit = json::parse(run.out)["responses"][0];
  EXPECT_EQ(fit["group"], "x");
  EXPECT_NEAR(fit["estimates"]["phi"]["value"].get<double>(), 0.05, 1e-4);
  EXPECT_NEAR(fit["estimates"]["LCP"]["value"].get<double>(), 30.382979, 0.01);  // EX19
}

TEST(Response, ElectronsAgainstTheLightOfTheCurves) {
  const Folder folder;
  std::string csv = "curve_id,Qin,J,J_status\n";
  int k = 0;
  for (const double Q : {100.0, 300.0, 600.0, 1000.0, 1500.0, 2000.0}) {
    // theta 0.7, Jmax 200, I2 = 0.36125 Q, written out here anew.
    const double I2 = 0.36125 * Q, sum = I2 + 200;
    const double J = (sum - std::sqrt(sum * sum - 4 * 0.7 * I2 * 200)) / (2 * 0.7);
    csv += "c" + std::to_string(k) + "," + std::to_string(Q) + "," +
           std::to_string(J * (k % 2 == 0 ? 1.001 : 0.999)) + ",estimated\n";
    ++k;
  }
  csv += "open,1200,999,lower bound\n";
  folder.write("fits.csv", csv);
  std::vector<std::string> call = {"response", "fits.csv", "--of", "electrons"};
  const Ended none = folder.run(call);
  EXPECT_EQ(none.code, 2);
  EXPECT_NE(none.err.find("no --absorptance given"), std::string::npos) << none.err;
  call.insert(call.end(), {"--absorptance", "0.85", "--json", "-", "--figures", "f"});
  const Ended run = folder.run(call);
  ASSERT_EQ(run.code, 0) << run.err;
  const json fit = json::parse(run.out)["responses"][0];
  EXPECT_NEAR(fit["estimates"]["Jmax"]["value"].get<double>(), 200, 2);
  EXPECT_NEAR(fit["estimates"]["theta"]["value"].get<double>(), 0.7, 0.05);
  EXPECT_EQ(fit["n"], 6);
  EXPECT_EQ(fit["excluded"][0]["why"], "J: lower bound");
  EXPECT_NE(run.out.find("are taken as known"), std::string::npos);
  EXPECT_TRUE(folder.has("f/J.svg"));
}

TEST(Response, PublishedResponsesOfC4LeavesDisagreeAndItIsSaid) {
  const Folder folder;
  std::string csv = "Tleaf,plateau,pathway\n";
  for (const auto& [T, V] : {std::pair(20, 30), {25, 42}, {30, 57}, {35, 72}}) {
    csv += std::to_string(T) + "," + std::to_string(V) + ",C4\n";
  }
  folder.write("fits.csv", csv);
  const Ended run =
      folder.run({"response", "fits.csv", "--of", "temperature", "--parameter", "plateau"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("Vcmax by"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("measuring at the temperature of interest"), std::string::npos) << run.out;
}

TEST(Response, WrongCallsSayWhatWasExpected) {
  const Folder folder;
  folder.write("t.csv", temperatures());
  Ended run = folder.run({"response", "t.csv"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("no --of given; temperature, light, electrons or stomata"),
            std::string::npos);
  run = folder.run({"response", "t.csv", "--of", "temperature"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("no --parameter"), std::string::npos);
  run = folder.run({"response", "t.csv", "--of", "light"});
  EXPECT_EQ(run.code, 3);
  EXPECT_NE(run.err.find("no column 'Qin'"), std::string::npos) << run.err;
  run = folder.run({"response", "t.csv", "--of", "stomata", "--model", "leuning"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("--model leuning without --gamma"), std::string::npos) << run.err;
  run =
      folder.run({"response", "t.csv", "--of", "temperature", "--parameter", "Vcmax", "--at", "x"});
  EXPECT_EQ(run.code, 2);
  run = folder.run(
      {"response", "t.csv", "--of", "temperature", "--parameter", "Vcmax", "--only", "leaf_id=z"});
  EXPECT_EQ(run.code, 2);
}

}  // namespace
}  // namespace leafwright::cli_test
