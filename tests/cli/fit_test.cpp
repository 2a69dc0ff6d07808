// `leafwright fit`: results, where they go, and what happens to curves that cannot be fitted.
#include <gtest/gtest.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

class Fit : public testing::Test {
 protected:
  void SetUp() override { folder.write("points.csv", points_csv(3)); }

  [[nodiscard]] Ended fit(std::vector<std::string> more, const std::string& input = "") const {
    std::vector<std::string> arguments = {"fit", "points.csv", "--pathway", "c3"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return folder.run(arguments, input);
  }

  Folder folder;
};

TEST_F(Fit, TextGoesToStandardOutputAlone) {
  const Ended run = fit({});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.err, "");
  EXPECT_NE(run.out.find("3 of 3 curves fitted"), std::string::npos) << run.out;
  EXPECT_EQ(folder.names(), std::vector<std::string>{"points.csv"});
}

TEST_F(Fit, JsonReplacesTheText) {
  const Ended run = fit({"--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.err, "");
  const json all = json::parse(run.out);
  EXPECT_EQ(all["command"], "fit");
  ASSERT_EQ(all["curves"].size(), 3U);
  EXPECT_EQ(all["curves"][0]["curve_id"], "c1");
  EXPECT_EQ(all["curves"][0]["points"], 12);
  EXPECT_EQ(all["curves"][0]["certified"], true);
  // Within a few per cent of what points_csv was made with: V = 50 + 3 c, J = 100 + 5 c.
  EXPECT_NEAR(double(all["curves"][1]["estimates"]["Vcmax"]["value"]), 56, 2);
  EXPECT_NEAR(double(all["curves"][1]["estimates"]["J"]["value"]), 110, 3);
  EXPECT_EQ(all["settings"]["pathway"]["value"], "c3");
  EXPECT_EQ(all["settings"]["pathway"]["origin"], "option");
  EXPECT_EQ(all["inputs"][0]["sha256"].get<std::string>().size(), 64U);
}

TEST_F(Fit, SsrFollowsFromThePrintedEstimates) {
  const json all = json::parse(fit({"--json", "-"}).out);
  for (const json& curve : all["curves"]) {
    const json& e = curve["estimates"];
    const json& k = curve["kinetics"];
    const double gamma = k["GammaStar"], Km = k["Km"];
    double ssr = 0;
    for (const json& row : curve["rows"]) {
      const double Ci = row["Ci"];
      double W = 1e300;
      if (e["Vcmax"]["value"].is_number()) W = double(e["Vcmax"]["value"]) * Ci / (Ci + Km);
      if (e["J"]["value"].is_number()) {
        W = std::min(W, double(e["J"]["value"]) * Ci / (4 * Ci + 8 * gamma));
      }
      if (e["TPU"]["value"].is_number() && Ci > gamma) {
        W = std::min(W, 3 * double(e["TPU"]["value"]) * Ci / (Ci - gamma));
      }
      const double residual =
          double(row["A"]) - ((1 - gamma / Ci) * W - double(e["Rday"]["value"]));
      ssr += residual * residual;
    }
    EXPECT_NEAR(ssr, double(curve["ssr"]), 1e-9 * ssr) << curve["curve_id"];
  }
}

TEST_F(Fit, TheSameCallGivesTheSameBytes) {
  EXPECT_EQ(fit({"--json", "-"}).out, fit({"--json", "-"}).out);
}

TEST_F(Fit, WritesTableMetaJsonAndFigures) {
  const Ended run = fit({"--out", "fits.csv", "--json", "fits.json", "--figures", "figures"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(folder.names(), (std::vector<std::string>{"figures", "fits.csv", "fits.csv.meta.json",
                                                      "fits.json", "points.csv"}));
  EXPECT_TRUE(folder.has("figures/c1.svg"));
  EXPECT_TRUE(folder.has("figures/contact-sheet.svg"));
  EXPECT_TRUE(json::accept(folder.read("fits.json")));
  EXPECT_TRUE(json::accept(folder.read("fits.csv.meta.json")));
  EXPECT_EQ(folder.read("fits.csv").rfind("curve_id,file,", 0), 0U);
  EXPECT_NE(run.err.find("fits.csv"), std::string::npos) << "where it went is told";
  EXPECT_NE(run.out.find("3 of 3 curves fitted"), std::string::npos);
}

TEST_F(Fit, QuietSaysNothingWhereAllIsWell) {
  EXPECT_EQ(fit({"--out", "fits.csv", "--quiet"}).err, "");
}

TEST_F(Fit, ReadsStandardInput) {
  const Ended run = folder.run({"fit", "-", "--pathway", "c3", "--json", "-"}, points_csv(1));
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(json::parse(run.out)["curves"][0]["file"], "standard input");
}

TEST_F(Fit, OnlyChoosesRows) {
  const json all = json::parse(fit({"--only", "method=steady", "--json", "-"}).out);
  ASSERT_EQ(all["curves"].size(), 1U);
  EXPECT_EQ(all["curves"][0]["curve_id"], "c2");
  EXPECT_EQ(all["settings"]["only"]["value"], json{"method=steady"});
  const json either =
      json::parse(fit({"--only", "curve_id=c1", "--only", "curve_id=c3", "--json", "-"}).out);
  EXPECT_EQ(either["curves"].size(), 2U);
}

TEST_F(Fit, CurveNamesTheColumnThatGroups) {
  const json all = json::parse(fit({"--curve", "method", "--json", "-"}).out);
  ASSERT_EQ(all["curves"].size(), 2U);
  EXPECT_EQ(all["curves"][0]["curve_id"], "ramp");
  EXPECT_EQ(all["curves"][0]["points"], 24);
}

TEST_F(Fit, ACurveThatCannotBeFittedStopsNoOther) {
  folder.write("points.csv", points_csv(2) + "short,5,100,25,101.3,ramp\n");
  const Ended run = fit({"--out", "fits.csv", "--json", "-"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("curve 'short'"), std::string::npos) << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["curves"].size(), 2U);
  ASSERT_EQ(all["failed"].size(), 1U);
  EXPECT_EQ(all["failed"][0]["curve_id"], "short");
  EXPECT_NE(all["failed"][0]["why"], "");
  EXPECT_NE(folder.read("fits.csv").find("\nshort,points.csv,,"), std::string::npos);
}

TEST_F(Fit, ACellThatIsNoNumberIsShownWithItsPlace) {
  folder.write("points.csv", "curve_id,A,Ci,Tleaf,Patm\na,five,100,25,101.3\n");
  const Ended run = fit({"--json", "-"});
  EXPECT_EQ(run.code, 1);
  EXPECT_EQ(
      run.err.find("points.csv:2:3: 'five' is not a number (column 'A'); a number or an empty "
                   "cell; correct or empty the cell\n"
                   "  a,five,100,25,101.3\n"
                   "    ^\n"
                   "leafwright: curve 'a': "),
      0U)
      << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["failed"][0]["curve_id"], "a");
  EXPECT_EQ(all["problems"].size(), 1U);
}

TEST_F(Fit, AFileThatCannotBeReadStopsNoOther) {
  const Ended run = folder.run({"fit", "gone.csv", "points.csv", "--pathway", "c3", "--json", "-"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("gone.csv: "), std::string::npos) << run.err;
  EXPECT_EQ(json::parse(run.out)["unread"][0]["file"], "gone.csv");
}

TEST_F(Fit, TheSameIdInTwoFilesIsToldApart) {
  folder.write("more.csv", points_csv(1));
  const Ended run = folder.run({"fit", "points.csv", "more.csv", "--pathway", "c3", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(run.out);
  ASSERT_EQ(all["curves"].size(), 4U);
  EXPECT_EQ(all["curves"][0]["curve_id"], "points.csv:c1");
  EXPECT_EQ(all["curves"][1]["curve_id"], "c2");
  EXPECT_EQ(all["curves"][3]["curve_id"], "more.csv:c1");
  EXPECT_TRUE(std::any_of(all["notes"].begin(), all["notes"].end(), [](const json& note) {
    return note["about"] == "curve-id-in-two-files";
  }));
}

TEST_F(Fit, LeafTemperatureAndPressureMayBeGiven) {
  folder.write("bare.csv", "A,Ci\n1,60\n5,120\n9,200\n14,300\n18,450\n20,700\n20.5,900\n21,1200\n");
  EXPECT_EQ(folder.run({"fit", "bare.csv", "--pathway", "c3"}).code, 3);
  const Ended run = folder.run(
      {"fit", "bare.csv", "--pathway", "c3", "--tleaf", "25", "--patm", "101.325", "--json", "-"});
  ASSERT_EQ(run.code, 0) << run.err;
  const json all = json::parse(run.out);
  EXPECT_EQ(all["curves"][0]["Tleaf"], 25);
  EXPECT_EQ(all["curves"][0]["kinetics"]["GammaStar"], 42.75);  // Bernacchi et al. 2001, at 25 degC
}

TEST_F(Fit, FixedRespirationIsFixed) {
  const json all = json::parse(fit({"--rday", "1", "--json", "-"}).out);
  EXPECT_EQ(all["curves"][0]["estimates"]["Rday"]["value"], 1);
  EXPECT_EQ(all["curves"][0]["estimates"]["Rday"]["status"], "fixed");
}

TEST(FitGmResponse, Gm25HasItsUnitInEveryOutput) {
  const Folder folder;
  const std::string points = LEAFWRIGHT_SOURCE_DIR "/demo/points.csv";
  const Ended run =
      folder.run({"fit", points, "--pathway", "c3", "--kinetics", "bernacchi-2002", "--gm", "0.2",
                  "--gm-response", "arrhenius:49.6", "--out", "f.csv", "--json", "f.json"});
  ASSERT_LE(run.code, 1) << run.err;
  EXPECT_NE(folder.read("f.json").find("\"gm25\": {\"value\": 0.2, \"unit\": \"mol m-2 s-1\""),
            std::string::npos);
  EXPECT_NE(folder.read("f.csv").find(",gm25,gm25_low,gm25_high"), std::string::npos);
  EXPECT_EQ(folder.run({"fit", points, "--pathway", "c4", "--gm-response", "arrhenius:50"}).code,
            2);
}

}  // namespace
}  // namespace leafwright::cli_test
