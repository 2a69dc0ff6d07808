// `--sd-column` and `--loss huber` through the program and through a study.
#include <gtest/gtest.h>

#include <fmt/format.h>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;
namespace fs = std::filesystem;

/// points_csv(1) with a wild row and a column of sd.
std::string wild_csv() {
  std::string out = "curve_id,A,Ci,Tleaf,Patm,sdA\n";
  const double gamma = 42.75, Km = 710.3;
  int i = 0;
  for (const double Ci : {45., 80., 120., 170., 230., 290., 380., 480., 620., 800., 1000., 1250.}) {
    const double W = std::min(53 * Ci / (Ci + Km), 105 * Ci / (4 * Ci + 8 * gamma));
    const double A = (1 - gamma / Ci) * W - 1 + 0.2 * std::sin(12.9898 * ++i);
    out += fmt::format("c1,{},{},25,101.325,{}\n", i == 6 ? A - 6 : A, Ci, i == 6 ? 2.0 : 0.2);
  }
  return out;
}

class FitWeights : public testing::Test {
 protected:
  void SetUp() override { folder.write("points.csv", wild_csv()); }
  [[nodiscard]] Ended fit(std::vector<std::string> more) const {
    std::vector<std::string> arguments = {"fit", "points.csv", "--pathway", "c3"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return folder.run(arguments);
  }
  Folder folder;
};

TEST_F(FitWeights, HuberNamesTheRowInJsonTextTableAndReport) {
  const Ended run =
      fit({"--loss", "huber", "--json", "f.json", "--out", "f.csv", "--report", "f.html"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json curve = json::parse(folder.read("f.json"))["curves"][0];
  EXPECT_NEAR(double(curve["estimates"]["Vcmax"]["value"]), 53, 2);
  EXPECT_EQ(curve["certified"], false);
  const json& huber = curve["weighting"]["huber"];
  EXPECT_EQ(huber["k"], 1.345);
  EXPECT_GE(int(huber["rows_weighted_down"]), 1);
  EXPECT_LT(double(curve["rows"][5]["huber_weight"]), 0.2);
  EXPECT_EQ(curve["rows"][5]["huber_weight"], huber["least_weight"]);
  EXPECT_NE(run.out.find("Ci 290 (line 7) to 0."), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("Huber's loss (k 1.345), scale"), std::string::npos) << run.out;
  EXPECT_NE(folder.read("f.csv").find(",huber_k,huber_scale,rows_weighted_down,least_weight"),
            std::string::npos);
  const std::string page = folder.read("f.html");
  EXPECT_NE(page.find("Parameters minimise Huber&#39;s loss"), std::string::npos);
  EXPECT_NE(page.find("is not certified"), std::string::npos);
}

TEST_F(FitWeights, SdComeFromTheirColumn) {
  const json equal = json::parse(fit({"--json", "-"}).out)["curves"][0];
  const Ended run = fit({"--sd-column", "sdA", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json curve = json::parse(run.out)["curves"][0];
  EXPECT_TRUE(equal["weighting"].is_null());
  EXPECT_EQ(curve["weighting"]["sd_column"], "sdA");
  EXPECT_EQ(curve["rows"][5]["sd"], 2.0);
  // Sums of weights are the number of rows, and the wild row counts a hundredth of the others.
  double sum = 0;
  for (const json& row : curve["rows"]) sum += double(row["weight"]);
  EXPECT_NEAR(sum, 12, 1e-9);
  EXPECT_NEAR(double(curve["rows"][5]["weight"]) / double(curve["rows"][0]["weight"]), 0.01, 1e-9);
  EXPECT_LT(std::abs(double(curve["estimates"]["Vcmax"]["value"]) - 53),
            std::abs(double(equal["estimates"]["Vcmax"]["value"]) - 53));
}

TEST_F(FitWeights, BadSdFailTheirCurveAndSayWhere) {
  std::string broken = wild_csv();
  broken.replace(broken.find(",2\n"), 3, ",0\n");
  folder.write("points.csv", broken);
  const Ended run = fit({"--sd-column", "sdA"});
  EXPECT_NE(run.code, 0);
  EXPECT_NE(run.err.find("column 'sdA' is 0 at"), std::string::npos) << run.err;
  EXPECT_EQ(fit({"--sd-column", "gone"}).code, 2);
}

TEST_F(FitWeights, WhatCannotBeWeighedIsRefused) {
  for (const std::vector<std::string>& more :
       {std::vector<std::string>{"--loss", "huber", "--smooth", "0.98"},
        {"--loss", "huber", "--gm", "0.2", "--kinetics", "bernacchi-2002"},
        {"--loss", "huber", "--intervals", "bootstrap"}}) {
    const Ended run = fit(more);
    EXPECT_NE(run.code, 0);
    EXPECT_EQ(run.out, "");
  }
  EXPECT_EQ(fit({"--loss", "huber:0.1"}).code, 2);
  EXPECT_EQ(fit({"--loss", "cubic"}).code, 2);
  const Ended c4 = folder.run({"fit", "points.csv", "--pathway", "c4", "--loss", "huber"});
  EXPECT_EQ(c4.code, 2);
  EXPECT_EQ(folder.run({"together", "points.csv", "--loss", "huber"}).code, 2);
}

TEST_F(FitWeights, OtherFitsTakeWeightsToo) {
  for (const std::vector<std::string>& more : {std::vector<std::string>{"--smooth", "0.98"},
                                               {"--gm", "0.2", "--kinetics", "bernacchi-2002"}}) {
    std::vector<std::string> words{"--sd-column", "sdA", "--json", "-"};
    words.insert(words.end(), more.begin(), more.end());
    const Ended run = fit(words);
    ASSERT_EQ(run.code, 0) << run.err;
    const json made = json::parse(run.out);
    EXPECT_EQ(made["curves"][0]["weighting"]["sd_column"], "sdA");
    words.insert(words.end(), {"--report", "w.html", "--force"});
    ASSERT_EQ(fit(words).code, 0);
    EXPECT_NE(folder.read("w.html").find("the weighted sum of squared residuals"),
              std::string::npos);
  }
}

TEST(RunWeights, AStudyPassesTheLossOn) {
  const Folder folder;
  const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";
  for (const char* name : {"terrace.toml", "recorder.toml", "samples.csv", "terrace-1.txt"}) {
    fs::copy_file(demo / name, folder.path() / name);
  }
  folder.write("study.toml",
               "schema = 1\ntime_zone = \"Europe/Berlin\"\n"
               "[[log]]\nfile = \"terrace-1.txt\"\nmap = \"terrace.toml\"\n"
               "instrument = \"recorder.toml\"\nrole = \"steps\"\n"
               "[samples]\nfile = \"samples.csv\"\n"
               "[fit]\npathway = \"c3\"\nloss = \"huber:2\"\n");
  const Ended run = folder.run({"run", "study.toml", "--out", "o"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json fits = json::parse(folder.read("o/fits.json"));
  EXPECT_EQ(fits["settings"]["loss"]["value"], "huber:2");
  for (const json& curve : fits["curves"]) {
    EXPECT_EQ(curve["weighting"]["huber"]["k"], 2.0) << curve["curve_id"];
    EXPECT_EQ(curve["certified"], false);
  }
  EXPECT_NE(folder.read("o/report.html").find("Huber PJ (1981)"), std::string::npos);
}

}  // namespace
}  // namespace leafwright::cli_test
