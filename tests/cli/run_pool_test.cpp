// Means of groups and leaves fitted together in a study: `leafwright run` on the demo's logs.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "cli/demo_study.hpp"
#include "cli/demo_truth.hpp"
#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

/// The demo's study in a folder of its own, with what stands after [fit] replaced.
void copy_demo(const Folder& folder, const std::string& sections) {
  copy_demo_study(folder, "operating-co2 = 420\n", sections);
}

Ended run_it(const Folder& folder) {
  return folder.run({"run", "study.toml", "--out", "o"});
}

/// The text has this at the study's line that begins with `key`.
void expect_place(const Folder& folder, const std::string& err, const std::string& key) {
  const std::string text = folder.read("study.toml");
  const std::size_t at = text.rfind("\n" + key);
  ASSERT_NE(at, std::string::npos) << key;
  const auto line =
      2 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
  EXPECT_NE(err.find("study.toml:" + std::to_string(line) + ":"), std::string::npos) << err;
}

const std::string by_treatment = "[pool]\ngroup = \"treatment\"\nplant = \"plant_id\"\n";
const std::string quick = "[together]\ngroup = \"treatment\"\nsweeps = 2000\nwarm-up = 1000\n";

TEST(RunPool, MeansOfTheDemoAreThoseOfItsTrueLeaves) {
  const Folder folder;
  copy_demo(folder, by_treatment);
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(folder.read("o/pool.json"));
  EXPECT_EQ(made["settings"]["role"]["value"], "steps");
  const auto truth = demo_truth();
  int means = 0;
  for (const json& mean : made["means"]) {
    if (mean["parameter"] != "Vcmax25") continue;
    ++means;
    EXPECT_EQ(mean["n"], 6) << "plants";
    double sum = 0, n = 0;
    std::set<std::string> plants;
    for (const json& leaf : mean["leaves"]) {
      const std::string id = leaf["curve_id"].get<std::string>();
      EXPECT_TRUE(id.ends_with("_aci")) << "a ramp: " << id;
      plants.insert(leaf["plant"].get<std::string>());
      sum += std::log(truth.at(id).at("Vcmax25"));
      n += 1;
    }
    // Two leaves a plant, so that the mean of plants is that of leaves.
    EXPECT_EQ(plants.size(), 6U);
    EXPECT_EQ(n, 12);
    EXPECT_NEAR(mean["mean_on_scale"].get<double>(), sum / n, 0.04);
  }
  EXPECT_EQ(means, 2);
}

TEST(RunPool, TheNumbersAreThoseOfPoolOnTheFits) {
  for (const std::string method : {"unweighted", "reml", "information"}) {
    const Folder folder;
    copy_demo(folder, by_treatment + "pool = \"" + method + "\"\n");
    ASSERT_EQ(run_it(folder).code, 0);
    const Ended alone =
        folder.run({"pool", "o/fits.csv", "--only", "method=steps", "--group", "treatment",
                    "--plant", "plant_id", "--pool", method, "--json", "-"});
    ASSERT_EQ(alone.code, 0) << alone.err;
    const json made = json::parse(folder.read("o/pool.json")), other = json::parse(alone.out);
    EXPECT_GT(made["means"].size(), 3U);
    EXPECT_EQ(made["means"], other["means"]) << method;
  }
}

TEST(RunPool, TheReportSaysHowMeansWereMade) {
  const Folder folder;
  copy_demo(folder, by_treatment + "pool = \"reml\"\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const std::string page = folder.read("o/report.html");
  for (const char* text :
       {"<h2 id=\"pool\">Means of groups</h2>", "<a href=\"#pool\">", "REML, Hartung-Knapp",
        "leaves of a plant (plant_id) were averaged first", "Hartung J, Knapp G (2001)",
        "Sidik K, Jonkman JN (2002)", "shrunken: for looking at, not for another analysis",
        "5 curves by another method take no part"}) {
    EXPECT_NE(page.find(text), std::string::npos) << text;
  }
  // What was not used is not cited.
  EXPECT_EQ(page.find("Jackson D, Riley RD (2014)"), std::string::npos);
  EXPECT_NE(run.out.find("Means of groups (REML"), std::string::npos) << run.out;
  const json fits = json::parse(folder.read("o/fits.json"));
  EXPECT_FALSE(fits["settings"].contains("pool"));
}

TEST(RunPool, RampsAreTakenAndMixedOnlyWhereThatIsAsked) {
  const Folder folder;
  copy_demo(folder, "[pool]\nrole = \"ramp\"\n");
  Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  json made = json::parse(folder.read("o/pool.json"));
  EXPECT_EQ(made["means"][0]["leaves"].size(), 5U);
  std::string text = folder.read("study.toml");
  text.replace(text.find("\"ramp\"", text.find("[pool]")), 6, "\"all\"");
  folder.write("study.toml", text);
  run = folder.run({"run", "study.toml", "--out", "o", "--force"});
  ASSERT_EQ(run.code, 0) << run.err;
  made = json::parse(folder.read("o/pool.json"));
  EXPECT_EQ(made["means"][0]["leaves"].size(), 29U);
  EXPECT_NE(folder.read("o/pool.json").find("methods-mixed"), std::string::npos);
}

TEST(RunPool, TooFewLeavesStopNothingElse) {
  const Folder folder;
  copy_demo(folder, "[pool]\nonly = [\"curve_id=vo-a1-1_aci\"]\n");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("[pool]: Vcmax25: 1 value"), std::string::npos) << run.err;
  EXPECT_TRUE(folder.has("o/fits.csv"));
  const json made = json::parse(folder.read("o/pool.json"));
  EXPECT_EQ(made["means"].size(), 0U);
  EXPECT_GT(made["failed"].size(), 1U);
  EXPECT_NE(folder.read("o/report.html").find("has no mean: "), std::string::npos);
}

struct WrongAsk {
  const char* section;
  const char* said;
  const char* line;  ///< begins with it; "" where the whole file is meant
};

TEST(RunPool, WrongAsksAreRefusedBeforeAnythingIsRead) {
  for (const auto& [section, said, line] : {
           WrongAsk{"[pool]\ngruop = \"treatment\"\n",
                    "unknown key 'gruop' in [pool]; a name of an option; did you mean 'group'?",
                    "gruop"},
           WrongAsk{"[pool]\npool = \"mean\"\n", "unweighted", "pool ="},
           WrongAsk{"[pool]\nrole = \"empty\"\n", "steps", "role"},
           WrongAsk{"[pool]\nlevel = 2\n", "0.999", "level"},
           WrongAsk{"[poll]\n", "did you mean 'pool'?", "[poll]"},
           WrongAsk{"[pool]\npool = \"information\"\nparameter = [\"J\"]\n", "one of the two", ""},
           WrongAsk{"[pool]\npool = \"information\"\nbounds = \"censored\"\n", "one of the two",
                    ""},
           WrongAsk{
               "[together]\nsweep = 3000\n",
               "unknown key 'sweep' in [together]; a name of an option; did you mean 'sweeps'?",
               "sweep"},
           WrongAsk{"[together]\nchains = 1\n", "chains", "chains"},
       }) {
    const Folder folder;
    copy_demo(folder, section);
    const Ended run = run_it(folder);
    EXPECT_EQ(run.code, 2) << section << run.err;
    EXPECT_NE(run.err.find(said), std::string::npos) << section << run.err;
    EXPECT_NE(run.err.find("study.toml"), std::string::npos) << run.err;
    if (*line != 0) expect_place(folder, run.err, line);
    EXPECT_FALSE(folder.has("o")) << section;
  }
}

TEST(RunPool, AColumnThatIsNotThereStopsNoFit) {
  for (const auto& [section, said, line] : {
           WrongAsk{"[pool]\ngroup = \"tratment\"\n", "did you mean 'treatment'?", ""},
           WrongAsk{"[together]\ngroup = \"tratment\"\n", "did you mean 'treatment'?", ""},
       }) {
    const Folder folder;
    copy_demo(folder, section);
    const Ended run = run_it(folder);
    EXPECT_EQ(run.code, 1) << section << run.err;
    EXPECT_NE(run.err.find(said), std::string::npos) << run.err;
    EXPECT_TRUE(folder.has("o/fits.csv"));
    EXPECT_FALSE(folder.has("o/pool.csv"));
    EXPECT_FALSE(folder.has("o/together.csv"));
    EXPECT_NE(folder.read("o/report.html").find("Asked for, and not done"), std::string::npos);
  }
}

TEST(RunPool, WithoutASectionThereIsNone) {
  const Folder folder;
  copy_demo(folder, "");
  ASSERT_EQ(run_it(folder).code, 0);
  EXPECT_FALSE(folder.has("o/pool.csv"));
  EXPECT_FALSE(folder.has("o/together.csv"));
  const std::string page = folder.read("o/report.html");
  EXPECT_EQ(page.find("id=\"pool\""), std::string::npos);
  EXPECT_EQ(page.find("id=\"together\""), std::string::npos);
}

TEST(RunTogether, LeavesOfTheDemoAreNearTheirTruthAndMarked) {
  const Folder folder;
  copy_demo(folder, "[together]\ngroup = \"treatment\"\nsweeps = 24000\nsampler-seed = 1\n");
  const Ended run = run_it(folder);
  ASSERT_EQ(run.code, 0) << run.err;
  const json made = json::parse(folder.read("o/together.json"));
  ASSERT_EQ(made["groups"].size(), 2U);
  const auto truth = demo_truth();
  for (const json& group : made["groups"]) {
    EXPECT_EQ(group["converged"], true);
    ASSERT_EQ(group["leaves"].size(), 12U);
    for (const json& leaf : group["leaves"]) {
      EXPECT_EQ(leaf["shrunken"], true);
      const double V = truth.at(leaf["curve_id"].get<std::string>()).at("Vcmax25");
      EXPECT_NEAR(leaf["together"]["Vcmax"]["median"].get<double>() / V, 1, 0.1) << leaf.dump();
    }
  }
  const std::string page = folder.read("o/report.html");
  for (const char* text : {"<h2 id=\"together\">", "Huang A, Wand MP (2013)",
                           "Sampled well: ", "together, shrunken", "Shrinkage: "}) {
    EXPECT_NE(page.find(text), std::string::npos) << text;
  }
  // The fits themselves know nothing of it, and later analyses refuse it.
  EXPECT_EQ(folder.read("o/fits.csv").find("shrunken"), std::string::npos);
  EXPECT_EQ(folder.run({"pool", "o/together.csv"}).code, 4);
}

TEST(RunTogether, TheNumbersAreThoseOfTogetherOnThePoints) {
  const Folder folder;
  copy_demo(folder, quick + "sampler-seed = 5\n");
  ASSERT_LE(run_it(folder).code, 1);
  const Ended alone =
      folder.run({"together", "o/points.csv", "--only", "method=steps", "--group", "treatment",
                  "--sweeps", "2000", "--warm-up", "1000", "--sampler-seed", "5", "--json", "-"});
  ASSERT_EQ(alone.code, 0) << alone.err;
  const json made = json::parse(folder.read("o/together.json")), other = json::parse(alone.out);
  ASSERT_EQ(made["groups"].size(), other["groups"].size());
  for (std::size_t g = 0; g < made["groups"].size(); ++g) {
    const json &here = made["groups"][g], &there = other["groups"][g];
    EXPECT_EQ(here["converged"], there["converged"]);
    ASSERT_EQ(here["leaves"].size(), there["leaves"].size());
    for (std::size_t l = 0; l < here["leaves"].size(); ++l) {
      EXPECT_EQ(here["leaves"][l]["curve_id"], there["leaves"][l]["curve_id"]);
      // points.csv has fewer digits than the study's own curves, so that one step may be decided
      // otherwise, which sends the chains apart: equal within the sampler's own error.
      for (const char* symbol : {"Vcmax", "J"}) {
        const double a = here["leaves"][l]["together"][symbol]["median"].get<double>();
        const double b = there["leaves"][l]["together"][symbol]["median"].get<double>();
        EXPECT_NEAR(a / b, 1, 0.03) << symbol;
      }
    }
  }
}

TEST(RunTogether, WhatWasNotSampledWellIsNotSold) {
  const Folder folder;
  copy_demo(folder, "[together]\nsweeps = 100\nwarm-up = 500\n");
  const Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("not sampled well enough"), std::string::npos) << run.err;
  const std::string page = folder.read("o/report.html");
  EXPECT_NE(page.find("Not sampled well enough."), std::string::npos);
  EXPECT_EQ(page.find("Each leaf alone and together"), std::string::npos);
  const json made = json::parse(folder.read("o/together.json"));
  EXPECT_EQ(made["groups"][0]["converged"], false);
  const std::string table = folder.read("o/together.csv");
  EXPECT_NE(table.find(",draws,converged\n"), std::string::npos) << table.substr(0, 200);
  EXPECT_EQ(table.find(",1\n"), std::string::npos);
  EXPECT_TRUE(folder.has("o/fits.csv"));
}

TEST(RunTogether, GroupsOfTooFewLeavesAndC4AreNamed) {
  const Folder folder;
  copy_demo(folder, "[together]\ngroup = \"plant_id\"\n");
  Ended run = run_it(folder);
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("[together]: group 'lt-a1'"), std::string::npos) << run.err;
  EXPECT_NE(run.err.find("at least 4"), std::string::npos) << run.err;
  EXPECT_TRUE(folder.has("o/fits.csv"));
  std::string text = folder.read("study.toml");
  text.replace(text.find("\"c3\""), 4, "\"c4\"");
  text.replace(text.find("kinetics = \"bernacchi-2001\"\n"), 28, "");
  folder.write("study.toml", text);
  run = folder.run({"run", "study.toml", "--out", "p"});
  EXPECT_EQ(run.code, 2);
  EXPECT_NE(run.err.find("[together] in a study of C4 leaves"), std::string::npos) << run.err;
  EXPECT_FALSE(folder.has("p"));
}

}  // namespace
}  // namespace leafwright::cli_test
