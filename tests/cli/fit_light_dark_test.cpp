// `--leaf-absorptance`, `--light-curvature` and `--rday dark:` through the program and a study.
#include <gtest/gtest.h>

#include <fmt/format.h>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

std::string lit_csv() {
  std::string out = "curve_id,A,Ci,Tleaf,Patm,Qin,Rn\n";
  const double gamma = 42.75, Km = 710.3;
  int i = 0;
  for (const double Ci : {45., 80., 120., 170., 230., 290., 380., 480., 620., 800., 1000., 1250.}) {
    const double W = std::min(80 * Ci / (Ci + Km), 161.099619 * Ci / (4 * Ci + 8 * gamma));
    const double A = (1 - gamma / Ci) * W - 1.05 + 0.1 * std::sin(12.9898 * ++i);
    out += fmt::format("c1,{},{},25,101.325,1000,1.5\n", A, Ci);
  }
  return out;
}

TEST(FitLight, JmaxStandsInEveryOutput) {
  const Folder folder;
  folder.write("points.csv", lit_csv());
  const Ended run =
      folder.run({"fit", "points.csv", "--pathway", "c3", "--leaf-absorptance", "0.85",
                  "--light-curvature", "0.7", "--rday", "dark:column:Rn", "--rday-inhibition",
                  "0.3", "--json", "f.json", "--out", "f.csv", "--report", "f.html"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(folder.read("f.json"));
  const json& curve = all["curves"][0];
  // EX15 of the reference: Q 1000, Jmax 200 and theta 0.7 give J 161.099619.
  EXPECT_NEAR(double(curve["estimates"]["Jmax"]["value"]), 200, 6);
  EXPECT_EQ(curve["estimates"]["Jmax"]["status"], "estimated");
  EXPECT_NEAR(double(curve["light"]["I2"]), 361.25, 1e-9);
  EXPECT_NEAR(double(curve["light"]["J_to_Jmax"]), 0.81, 0.02);
  EXPECT_NEAR(double(curve["estimates"]["Rday"]["value"]), 1.05, 1e-12);
  EXPECT_EQ(curve["rday_from_dark"]["inhibition"], 0.3);
  EXPECT_EQ(all["settings"]["light-loss"]["value"], 0.15);
  EXPECT_NE(run.out.find("Jmax: Qin 1000, absorptance 0.85, f 0.15, theta 0.7"), std::string::npos)
      << run.out;
  EXPECT_NE(run.out.find("Rday: dark respiration 1.5"), std::string::npos) << run.out;
  const std::string head = folder.read("f.csv");
  for (const char* column :
       {",Jmax,", ",Jmax_low,", ",Jmax25,", ",ppfd,I2,J_to_Jmax", ",Rdark,Rdark_temperature,"}) {
    EXPECT_NE(head.find(column), std::string::npos) << column;
  }
  const std::string page = folder.read("f.html");
  EXPECT_NE(page.find("Jmax was computed from J by theta J^2"), std::string::npos);
  EXPECT_NE(page.find("Rday was held at respiration measured in the dark (column:Rn)"),
            std::string::npos);
  EXPECT_NE(page.find("so that Jmax stands on these constants"), std::string::npos);
}

TEST(FitLight, WithoutLightInTheFileItIsNotIdentified) {
  const Folder folder;
  folder.write("points.csv", points_csv(1));
  const Ended run = folder.run({"fit", "points.csv", "--pathway", "c3", "--leaf-absorptance",
                                "0.85", "--light-curvature", "0.7", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json curve = json::parse(run.out)["curves"][0];
  EXPECT_EQ(curve["estimates"]["Jmax"]["status"], "not identified");
  EXPECT_TRUE(curve["estimates"]["Jmax"]["value"].is_null());
}

TEST(FitDark, TheShareIsNotGuessed) {
  const Folder folder;
  folder.write("points.csv", lit_csv());
  const Ended run = folder.run({"fit", "points.csv", "--pathway", "c3", "--rday", "dark:1.5"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("--rday-inhibition"), std::string::npos) << run.err;
}

TEST(RunLight, AStudyPassesThemOnAndRampsWidenJmaxToo) {
  const Folder folder;
  const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";
  for (const char* name : {"study.toml", "terrace.toml", "recorder.toml", "samples.csv",
                           "terrace-1.txt", "terrace-2.txt", "terrace-3.txt", "terrace-ramps.toml",
                           "terrace-empty.txt", "terrace-ramps.txt"}) {
    fs::copy_file(demo / name, folder.path() / name);
  }
  std::string study = folder.read("study.toml");
  const std::string fit = "kinetics = \"bernacchi-2001\"\n";
  const std::size_t at = study.find(fit);
  ASSERT_NE(at, std::string::npos);
  study.insert(at,
               "leaf-absorptance = 0.85\nlight-curvature = 0.7\nrday = \"dark:1.4\"\n"
               "rday-inhibition = 0.3\nrday-dark-temperature = 25\n"
               "rday-response = \"bernacchi-2001\"\n");
  folder.write("study.toml", study);
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  ASSERT_EQ(run.code, 0) << run.err;
  int widened = 0;
  const json fits = json::parse(folder.read("o/fits.json"));
  for (const json& curve : fits["curves"]) {
    const json &J = curve["estimates"]["J"], &Jmax = curve["estimates"]["Jmax"];
    EXPECT_EQ(curve["rday_from_dark"]["response"], "bernacchi-2001");
    if (Jmax["status"] != "estimated") continue;
    const double I2 = curve["light"]["I2"];
    for (const char* end : {"low", "high"}) {
      const double x = J[end];
      EXPECT_NEAR(x * (I2 - 0.7 * x) / (I2 - x), double(Jmax[end]), 1e-6 * double(Jmax[end]));
    }
    if (curve["interval_kind"] == "95 % of ramp errors") ++widened;
  }
  EXPECT_GT(widened, 0);
  EXPECT_NE(folder.read("o/report.html")
                .find("moved to leaf temperature by the responses "
                      "bernacchi-2001"),
            std::string::npos);
}

}  // namespace
}  // namespace leafwright::cli_test
