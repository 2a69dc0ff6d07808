// `leafwright fit --operating-co2`: the worked example through the program, what the outputs say,
// and wrong calls.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"
#include "leaf/c3.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

const std::string demo = LEAFWRIGHT_SOURCE_DIR "/demo/points.csv";

/// Rows of the leaf of EX13 at 25 degC, without noise; `gsw` in mol m-2 s-1 where above 0.
std::string ex13_csv(double gsw) {
  const auto k =
      kinetics_at(**find_kinetics("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
  std::string out = "curve_id,A,Ci,Tleaf,Patm";
  out += gsw > 0 ? ",gsw [mol m-2 s-1],CO2s\n" : "\n";
  for (const double Ci :
       {50.0, 90.0, 140.0, 200.0, 280.0, 330.0, 420.0, 550.0, 700.0, 900.0, 1200.0}) {
    const double A = c3_assimilation(Ci, {80, 150, 1e9, 1.2}, *k).A;
    out += fmt::format("ex13,{:.12g},{},25,101.325", A, Ci);
    if (gsw > 0) out += fmt::format(",{},{:.12g}", gsw, Ci + 1.6 * A / gsw);
    out += "\n";
  }
  return out;
}

json curve_of(const Folder& folder, std::vector<std::string> more) {
  std::vector<std::string> call = {"fit", "p.csv", "--pathway", "c3", "--json", "-"};
  call.insert(call.end(), more.begin(), more.end());
  const Ended run = folder.run(call);
  EXPECT_EQ(run.code, 0) << run.err;
  return json::parse(run.out)["curves"][0];
}

// EX18 of tests/published/data/reference/10_worked_examples.csv.
TEST(OperatingPointCommand, WorkedExample) {
  const Folder folder;
  folder.write("p.csv", ex13_csv(0));
  const json point =
      curve_of(folder, {"--operating-co2", "400", "--operating-ci", "280"})["operating"];
  EXPECT_NEAR(point["limitation"].get<double>(), 0.267918, 1e-6);
  EXPECT_EQ(point["Ci_is"], "stated");
  EXPECT_TRUE(point["WUEi"].is_null());
  EXPECT_EQ(point["missing"][0], "no gsw column: no A/gsw");
}

TEST(OperatingPointCommand, NothingIsSaidUnasked) {
  const Folder folder;
  folder.write("p.csv", ex13_csv(0.3));
  EXPECT_TRUE(curve_of(folder, {})["operating"].is_null());
}

TEST(OperatingPointCommand, ConductanceOfTheRowsAndEveryOutput) {
  const Folder folder;
  folder.write("p.csv", ex13_csv(0.3));
  const json point = curve_of(folder, {"--operating-co2", "380"})["operating"];
  // gsw 0.3 mol m-2 s-1 everywhere: g = 0.1875, and A/gsw = 1.6^-1 (Ca - Ci)
  EXPECT_NEAR(point["conductance"].get<double>(), 0.1875, 1e-9);
  const double Ci = point["Ci"], A = point["A"];
  EXPECT_NEAR(A, 0.1875 * (380 - Ci), 1e-6);
  EXPECT_NEAR(point["WUEi"].get<double>(), (380 - Ci) / 1.6, 1e-4);
  EXPECT_EQ(point["gsw"], 300);
  EXPECT_FALSE(point["rows"].empty());
  const Ended run = folder.run({"fit", "p.csv", "--pathway", "c3", "--operating-co2", "380",
                                "--out", "f.csv", "--figures", "figs", "--report", "r.html"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("operating point at CO2 380: Ci"), std::string::npos) << run.out;
  const std::string csv = folder.read("f.csv");
  EXPECT_NE(csv.find(",operating_CO2,operating_Ci,"), std::string::npos);
  const json meta = json::parse(folder.read("f.csv.meta.json"));
  EXPECT_EQ(meta["settings"]["operating-co2"]["value"], 380);
  const std::string page = folder.read("r.html");
  EXPECT_NE(page.find("id=\"operating\""), std::string::npos);
  EXPECT_NE(page.find("Farquhar &amp; Sharkey 1982"), std::string::npos);
  EXPECT_NE(page.find("Jones HG (1985)"), std::string::npos);
  const std::string figure = folder.read("figs/ex13.svg");
  EXPECT_NE(figure.find("operating point at CO₂ 380"), std::string::npos);
  EXPECT_NE(figure.find(">supply<"), std::string::npos);
}

TEST(OperatingPointCommand, DemoCurvesUseTheirRowsNearIt) {
  const Folder folder;
  const Ended run = folder.run({"fit", demo, "--pathway", "c3", "--operating-co2", "400",
                                "--intervals", "none", "--json", "-"});
  ASSERT_LE(run.code, 1) << run.err;
  std::size_t found = 0;
  const json all = json::parse(run.out);
  for (const json& curve : all["curves"]) {
    const json& point = curve["operating"];
    if (point["Ci"].is_null()) {
      EXPECT_FALSE(point["missing"].empty());
      continue;
    }
    ++found;
    EXPECT_GT(point["Ci"].get<double>(), 100);
    EXPECT_LT(point["Ci"].get<double>(), 400);
    if (point["limitation"].is_null()) {
      EXPECT_FALSE(point["missing"].empty());
      continue;
    }
    EXPECT_GT(point["limitation"].get<double>(), 0);
    EXPECT_LT(point["limitation"].get<double>(), 1);
  }
  EXPECT_GT(found, all["curves"].size() / 2);
}

TEST(OperatingPointCommand, AStudyHasItsRowsAndTheirTime) {
  const Folder folder;
  const std::string at = LEAFWRIGHT_SOURCE_DIR "/demo/";
  folder.write("study.toml", "schema = 1\ntime_zone = \"Europe/Berlin\"\n[[log]]\nfile = \"" + at +
                                 "terrace-1.txt\"\nmap = \"" + at +
                                 "terrace.toml\"\ninstrument = \"" + at +
                                 "recorder.toml\"\nrole = \"steps\"\n[samples]\nfile = \"" + at +
                                 "samples.csv\"\n[fit]\npathway = \"c3\"\nintervals = \"none\"\n"
                                 "operating-co2 = 400\n");
  const Ended run = folder.run({"run", "study.toml", "--out", "out"});
  ASSERT_LE(run.code, 1) << run.err;
  const json curves = json::parse(folder.read("out/fits.json"))["curves"];
  ASSERT_FALSE(curves.empty());
  for (const json& curve : curves) {
    EXPECT_EQ(curve["operating"]["CO2"], 400);
    EXPECT_FALSE(curve["operating"]["rows"].empty()) << curve["curve_id"];
    EXPECT_TRUE(curve["operating"]["gsw"].is_number()) << curve["curve_id"];
    EXPECT_EQ(curve["gsw_drift"]["order"], "time");
    EXPECT_GT(curve["gsw_drift"]["span"].get<double>(), 0.05);
  }
  EXPECT_NE(folder.read("out/report.html").find("id=\"drift\""), std::string::npos);
  EXPECT_NE(folder.read("out/fits.csv").find(",operating_Ci,"), std::string::npos);
}

TEST(OperatingPointCommand, DriftIsToldWithoutBeingAsked) {
  const Folder folder;
  folder.write("p.csv", ex13_csv(0.3));
  const json still = curve_of(folder, {})["gsw_drift"];
  EXPECT_EQ(still["steady"], true);
  EXPECT_EQ(still["order"], "rows");  // no time in the table
  const Ended run = folder.run(
      {"fit", demo, "--pathway", "c3", "--only", "curve_id=lt-a2-1_aci", "--gsw-steady", "1"});
  EXPECT_NE(run.out.find("gsw drifted"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("the points hold"), std::string::npos) << run.out;
}

TEST(OperatingPointCommand, WrongCalls) {
  const Folder folder;
  folder.write("p.csv", ex13_csv(0));
  const Ended alone = folder.run({"fit", "p.csv", "--pathway", "c3", "--operating-ci", "280"});
  EXPECT_EQ(alone.code, 2);
  EXPECT_NE(alone.err.find("--operating-co2"), std::string::npos) << alone.err;
  const Ended without = folder.run({"fit", "p.csv", "--pathway", "c3", "--operating-co2", "400"});
  EXPECT_EQ(without.code, 0);
  EXPECT_NE(without.out.find("no CO2s and no gsw in the rows"), std::string::npos) << without.out;
}

TEST(OperatingPointCommand, AColumnThatCannotBeReadStopsNothing) {
  const Folder folder;
  std::string text = ex13_csv(0.3);
  text.replace(text.find("gsw [mol m-2 s-1]"), 17, "gsw [degC]");
  folder.write("p.csv", text);
  const Ended run = folder.run({"fit", "p.csv", "--pathway", "c3", "--operating-co2", "400"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("gsw was not read"), std::string::npos) << run.out;
}

}  // namespace
}  // namespace leafwright::cli_test
