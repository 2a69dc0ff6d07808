// Agreement of methods in a study: `leafwright run` on the demo's ramps and steps, and broken asks.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "cli/demo_study.hpp"
#include "cli/demo_truth.hpp"
#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

/// The demo's study in a folder of its own, with what stands between [agree] and the end replaced.
void copy_demo(const Folder& folder, const std::string& agree) {
  copy_demo_study(folder, "[agree]", agree);
}

Ended run_it(const Folder& folder) {
  return folder.run({"run", "study.toml", "--out", "o"});
}

const std::string asked =
    "[agree]\nmethod = \"programme\"\nmethods = \"ramp,steps\"\nplant = \"plant_id\"\n"
    "values = \"25\"\nbands = 200\n";

const json& parameter(const json& made, const std::string& symbol) {
  for (const json& p : made["parameters"]) {
    if (p["symbol"] == symbol) return p;
  }
  throw std::runtime_error("no " + symbol);
}

TEST(RunAgree, RampsOfTheDemoAgreeWithItsStepsWithinTheStatedMargin) {
  const Folder folder;
  copy_demo(folder, asked + "margin = \"10%\"\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  for (const char* name :
       {"o/agreement.csv", "o/agreement.csv.meta.json", "o/figures/agreement/ratios.svg",
        "o/figures/agreement/difference.svg", "o/figures/agreement/leaf-lt-a2-1.svg"}) {
    EXPECT_TRUE(folder.has(name)) << name;
  }
  const json made = json::parse(folder.read("o/agreement.json"));
  ASSERT_EQ(made["leaves"].size(), 4U);
  EXPECT_EQ(made["settings"]["margin"]["value"], "10%");
  const auto truth = demo_truth();
  for (const char* symbol : {"Vcmax25", "J25"}) {
    const json& p = parameter(made, symbol);
    EXPECT_EQ(p["summary"]["plants"], 4) << symbol;
    EXPECT_EQ(p["verdict"], "equivalent within the stated margin") << symbol;
    // The leaves are the same, so that the true ratio is 1: within 3 standard errors of it.
    const double mean = p["summary"]["mean"].get<double>();
    EXPECT_LT(std::abs(mean), 3 * p["summary"]["se"].get<double>()) << symbol;
    for (const json& leaf : p["leaves"]) {
      const double true_value = truth.at(leaf["leaf"].get<std::string>() + "_aci").at(symbol);
      for (const char* method : {"first", "second"}) {
        EXPECT_NEAR(leaf[method].get<double>() / true_value, 1, 0.06) << leaf.dump();
      }
    }
  }
}

TEST(RunAgree, TheReportSaysWhatWasComparedAndHow) {
  const Folder folder;
  copy_demo(folder, asked + "margin = \"10%\"\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const std::string page = folder.read("o/report.html");
  for (const char* text :
       {"<h2 id=\"agreement\">Agreement of ramp and steps</h2>", "<a href=\"#agreement\">",
        "margin stated beforehand: ratios 10 %", "Vcmax25: equivalent within the stated margin",
        "Schuirmann DJ (1987)", "5 ramps of CO2 (4 up, 1 down) became points by",
        "Bland JM, Altman DG (1986)", "forward correction",
        "1 curve by other methods not compared: lt-a2-1_down (ramp down)",
        "20 leaves not compared, without a curve by ramp", "and not let in again",
        "4 ramps share 1 gas path", "the offset of the cells was removed from ramps",
        "P values were adjusted over Vcmax25, J25 (Holm 1979)"}) {
    EXPECT_NE(page.find(text), std::string::npos) << text;
  }
  EXPECT_NE(run.out.find("ramp against steps on 4 leaves of 4 plants"), std::string::npos);
  // The settings of the comparison are no settings of the fits.
  const json fits = json::parse(folder.read("o/fits.json"));
  EXPECT_FALSE(fits["settings"].contains("margin"));
}

TEST(RunAgree, TheNumbersAreThoseOfAgreeOnTheFits) {
  const Folder folder;
  copy_demo(folder, asked + "margin = \"10%\"\n");
  ASSERT_EQ(run_it(folder).code, 0);
  const Ended alone =
      folder.run({"agree", "o/fits.json", "--samples", "samples.csv", "--method", "programme",
                  "--methods", "ramp,steps", "--plant", "plant_id", "--values", "25", "--margin",
                  "10%", "--bands", "200", "--json", "-"});
  ASSERT_EQ(alone.code, 1) << alone.err;  // 20 leaves have no ramp
  const json made = json::parse(folder.read("o/agreement.json")), other = json::parse(alone.out);
  for (const char* symbol : {"Vcmax25", "J25", "Rday25"}) {
    const json &a = parameter(made, symbol), &b = parameter(other, symbol);
    EXPECT_NEAR(a["summary"]["mean"].get<double>(), b["summary"]["mean"].get<double>(), 1e-9);
    EXPECT_NEAR(a["summary"]["se"].get<double>(), b["summary"]["se"].get<double>(), 1e-9);
    EXPECT_EQ(a["verdict"], b["verdict"]);
  }
  EXPECT_EQ(made["points"]["pairs"], other["points"]["pairs"]);
}

TEST(RunAgree, WithoutAMarginNothingIsCalledEquivalent) {
  const Folder folder;
  copy_demo(folder, asked);
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("margin not stated: no verdict of equivalence is given"),
            std::string::npos);
  const std::string page = folder.read("o/report.html");
  EXPECT_EQ(page.find("equivalent within the stated margin"), std::string::npos);
  EXPECT_NE(page.find("No margin was stated beforehand"), std::string::npos);
  EXPECT_EQ(page.find("Schuirmann"), std::string::npos);
}

TEST(RunAgree, OnePlantShowsNothingEitherWay) {
  const Folder folder;
  copy_demo(folder, asked +
                        "margin = \"10%\"\nexclude = [\"vo-a3-2=simulated fault\", "
                        "\"vo-e1-1=simulated fault\", \"lt-e3-1=simulated fault\"]\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(folder.read("o/agreement.json"));
  EXPECT_EQ(parameter(made, "Vcmax25")["verdict"],
            "not shown either way: one plant has no scatter to judge by");
  EXPECT_EQ(made["without_exclusions"]["leaves"], true);
  const std::string page = folder.read("o/report.html");
  EXPECT_NE(page.find("simulated fault"), std::string::npos);
  EXPECT_NE(page.find("With nothing left out"), std::string::npos);
}

TEST(RunAgree, RowsThatTheScreeningLeftOutAreLetInAgain) {
  const Folder folder;
  copy_demo(folder, asked);
  // One sound row of a paired step curve, marked by the operator: its last column is `use`.
  std::string log;
  std::string file;
  for (const char* name : {"terrace-1.txt", "terrace-2.txt", "terrace-3.txt"}) {
    log = folder.read(name);
    file = name;
    if (log.find("lt-e3-1_aci") != std::string::npos) break;
  }
  const std::size_t row = log.find("lt-e3-1_aci");
  ASSERT_NE(row, std::string::npos);
  const std::size_t end = log.find('\n', row), use = log.rfind(";1", end);
  ASSERT_LT(row, use);
  folder.write(file, log.replace(use, 2, ";0"));
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(folder.read("o/agreement.json"));
  ASSERT_FALSE(made["without_exclusions"].is_null());
  EXPECT_EQ(made["without_exclusions"]["rows"], true);
  const auto of = [&](const json& all) {
    for (const json& leaf : parameter(all, "Vcmax25")["leaves"]) {
      if (leaf["leaf"] == "lt-e3-1") return leaf["second"].get<double>();
    }
    return 0.0;
  };
  EXPECT_NE(of(made), of(made["without_exclusions"]));
}

TEST(RunAgree, WithoutAMethodColumnTheRolesAreTheMethods) {
  const Folder folder;
  copy_demo(folder, "[agree]\nplant = \"plant_id\"\nvalues = \"25\"\nbands = 200\n");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);  // one leaf has two ramps, which is said
  EXPECT_NE(run.err.find("leaf 'lt-a2-1': 2 curves by ramp (lt-a2-1_ramp, lt-a2-1_down)"),
            std::string::npos)
      << run.err;
  const json made = json::parse(folder.read("o/agreement.json"));
  EXPECT_EQ(made["leaves"].size(), 3U);
  EXPECT_EQ(made["methods"], json({"steps", "ramp"}));
}

TEST(RunAgree, ADownRampIsSaidToBeOne) {
  const Folder folder;
  copy_demo(folder,
            "[agree]\nmethod = \"programme\"\nmethods = \"ramp down,steps\"\nmargin = \"10%\"\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("1 ramp of 1 compared did not go up alone (lt-a2-1_down)"),
            std::string::npos);
  // One leaf: no verdict, no limits, no band, whatever the margin.
  const json made = json::parse(folder.read("o/agreement.json"));
  EXPECT_NE(parameter(made, "Vcmax")["verdict"].get<std::string>().find("not shown either way"),
            std::string::npos);
  EXPECT_TRUE(made["curves"]["band"].is_null());
}

TEST(RunAgree, WithoutASectionNothingIsCompared) {
  const Folder folder;
  copy_demo(folder, "");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_FALSE(folder.has("o/agreement.csv"));
  EXPECT_EQ(folder.read("o/report.html").find("id=\"agreement\""), std::string::npos);
}

struct WrongAsk {
  const char* section;
  const char* said;
};

TEST(RunAgree, WrongAsksAreRefusedBeforeAnythingIsRead) {
  for (const auto& [section, said] : {
           WrongAsk{"[agree]\nmargins = \"10%\"\n", "unknown key 'margins' in [agree]"},
           WrongAsk{"[agree]\nmargin = 10\n", "has no per cent sign"},
           WrongAsk{"[agree]\nmargin = \"-5%\"\n", "a percentage above 0%"},
           WrongAsk{"[agree]\nmargin-a = 0\n", "a number above 0"},
           WrongAsk{"[agree]\nmethods = \"ramp\"\n", "two different names"},
           WrongAsk{"[agree]\nexclude = [\"lt-a2-1\"]\n", "nothing is left out without a reason"},
       }) {
    const Folder folder;
    copy_demo(folder, section);
    const Ended run = run_it(folder);
    EXPECT_EQ(run.code, 2) << section << run.err;
    EXPECT_NE(run.err.find(said), std::string::npos) << section << run.err;
    EXPECT_NE(run.err.find("study.toml"), std::string::npos) << run.err;
    EXPECT_FALSE(folder.has("o")) << section;
  }
}

TEST(RunAgree, StepsAloneHaveNoSecondMethod) {
  const Folder folder;
  copy_demo(folder, "[agree]\nmargin = \"10%\"\n");
  std::string text = folder.read("study.toml");
  for (std::size_t at; (at = text.find("role = \"ramp\"")) != std::string::npos;) {
    text.replace(at, 13, "role = \"empty\"");
  }
  folder.write("study.toml", text);
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("nothing names two methods"), std::string::npos) << run.err;
}

/// What is wrong with the samples table stops the comparison only: the fits are there.
TEST(RunAgree, WhatCannotBeComparedStopsNoFit) {
  for (const auto& [section, said] : {
           WrongAsk{"[agree]\nleaf = \"leaf_nr\"\n", "leaf = \"leaf_nr\" in [agree] is no column"},
           WrongAsk{"[agree]\nplant = \"plant_ib\"\n", "did you mean 'plant_id'?"},
           WrongAsk{"[agree]\nmethod = \"programme\"\n", "names 3 methods"},
           WrongAsk{"[agree]\nmethod = \"programme\"\nmethods = \"ramp,drift\"\n",
                    "no curve has 'drift' in column 'programme'"},
           WrongAsk{"[agree]\nmethod = \"species\"\n", "no leaf has one curve by"},
           WrongAsk{"[agree]\nmethod = \"programme\"\nmethods = \"ramp,steps\"\norder = "
                    "\"species\"\n",
                    "a number, such as a rank"},
           WrongAsk{"[agree]\nmethod = \"programme\"\nmethods = \"ramp,steps\"\nexclude = "
                    "[\"lt-a2-9=lost\"]\n",
                    "which is not compared"},
       }) {
    const Folder folder;
    copy_demo(folder, section);
    const Ended run = run_it(folder);
    EXPECT_EQ(run.code, 1) << section << run.err;
    EXPECT_NE(run.err.find(said), std::string::npos) << section << run.err;
    EXPECT_TRUE(folder.has("o/fits.csv")) << section;
    EXPECT_FALSE(folder.has("o/agreement.csv")) << section;
    EXPECT_NE(folder.read("o/report.html").find("methods were not compared"), std::string::npos)
        << section;
  }
}

}  // namespace
}  // namespace leafwright::cli_test
