// The study file: what is read, and what every broken one is told.
#include "study/study_file.hpp"

#include <gtest/gtest.h>

#include "air/settings.hpp"
#include "fit/fit.hpp"
#include "fit/joint_leaves.hpp"
#include "log/points.hpp"
#include "study/time_zone.hpp"

namespace leafwright {
namespace {

constexpr const char* whole = R"(schema = 1
title = "Terrace"
time_zone = "Europe/Berlin"
seed = 7

[[log]]
file = "logs/day1.csv"
map = "maps/box.toml"
instrument = "box.toml"

[[log]]
file = "../day2.xlsx"
sheet = "Points"
role = "ramp"

[samples]
file = "samples.csv"

[flux]
area = 6

[fit]
pathway = "c3"
min-points = 5
limitations = ["rubisco", "rubp"]
kinetic = ["Kc=400", "Ko=280"]
tleaf = 25.5

[report]
theme = "dark"
)";

TEST(Study, ReadsAWholeOne) {
  const auto study = read_study(whole, "field/study.toml");
  ASSERT_TRUE(study.has_value()) << study.error().text();
  EXPECT_EQ(study->title, "Terrace");
  EXPECT_EQ(study->time_zone, "Europe/Berlin");
  EXPECT_EQ(study->seed, 7U);
  ASSERT_EQ(study->logs.size(), 2U);
  EXPECT_EQ(study->logs[0].file.path, "field/logs/day1.csv");
  EXPECT_EQ(study->logs[0].file.written, "logs/day1.csv");
  EXPECT_EQ(study->logs[0].map.path, "field/maps/box.toml");
  EXPECT_EQ(study->logs[0].role, LogRole::steps);
  EXPECT_FALSE(study->logs[0].role_given);
  EXPECT_EQ(study->logs[1].file.path, "day2.xlsx");
  EXPECT_EQ(study->logs[1].role, LogRole::ramp);
  EXPECT_EQ(study->logs[1].sheet, "Points");
  EXPECT_FALSE(study->logs[1].map.given());
  EXPECT_EQ(study->samples.path, "field/samples.csv");
  EXPECT_EQ(study->settings(flux_settings()).number("area"), 6);
  EXPECT_EQ(study->settings(pathway_settings()).text("pathway"), "c3");
  const Settings& fit = study->settings(fit_settings());
  EXPECT_EQ(fit.whole("min-points"), 5);
  EXPECT_EQ(fit.text("limitations"), "rubisco,rubp");
  EXPECT_EQ(fit.list("kinetic"), (std::vector<std::string>{"Kc=400", "Ko=280"}));
  EXPECT_EQ(fit.origin("min-points"), SettingOrigin::study);
  EXPECT_EQ(fit.origin("level"), SettingOrigin::default_value);
  EXPECT_EQ(study->settings(points_settings()).text("tleaf"), "25.5");
  EXPECT_EQ(study->settings(figure_settings()).text("theme"), "dark");
}

TEST(Study, TheSeedOfTheStudyIsThatOfTheFit) {
  auto study = read_study(whole, "s.toml");
  ASSERT_TRUE(study.has_value());
  EXPECT_EQ(study->settings(fit_settings()).text("seed"), "7");
  study = read_study("schema = 1\nseed = 7\n[[log]]\nfile = \"a\"\n[fit]\nseed = 3\n", "s.toml");
  ASSERT_TRUE(study.has_value());
  EXPECT_EQ(study->settings(fit_settings()).text("seed"), "3");
}

TEST(Study, TheSeedOfTheStudyIsThatOfTheSamplerWhereThereIsOne) {
  auto study = read_study("schema = 1\nseed = 7\n[[log]]\nfile = \"a\"\n[together]\n", "s.toml");
  ASSERT_TRUE(study.has_value());
  EXPECT_EQ(study->settings(joint_settings()).text("sampler-seed"), "7");
  study = read_study("schema = 1\nseed = 7\n[[log]]\nfile = \"a\"\n[together]\nsampler-seed = 3\n",
                     "s.toml");
  ASSERT_TRUE(study.has_value());
  EXPECT_EQ(study->settings(joint_settings()).text("sampler-seed"), "3");
  // The sampler takes 32 bits; a study without it may have more.
  const std::string large = "schema = 1\nseed = 5000000000\n[[log]]\nfile = \"a\"\n";
  EXPECT_TRUE(read_study(large, "s.toml").has_value());
  study = read_study(large + "[together]\n", "s.toml");
  ASSERT_FALSE(study.has_value());
  EXPECT_EQ(study.error().place.line, 2U);
}

TEST(Study, NoSettingStandsInTwoSections) {
  // Settings of all sections are printed as one object, but those of what comes after the fits
  // with its results.
  std::vector<std::string> of_fits, after;
  for (const SectionSpec& section : study_sections()) {
    const bool own =
        section.name == "response" || section.name == "pool" || section.name == "together";
    std::vector<std::string> names = own ? std::vector<std::string>() : of_fits;
    for (const SettingTable table : section.tables) {
      for (const Setting& setting : table) {
        EXPECT_EQ(std::count(names.begin(), names.end(), setting.name), 0) << setting.name;
        names.push_back(setting.name);
      }
    }
    (own ? after : of_fits) = names;
    EXPECT_TRUE(!own || after.size() > 5) << section.name;
  }
  EXPECT_GT(of_fits.size(), 40U);
}

struct Broken {
  const char* toml;
  const char* place;  ///< how the message begins
  const char* says;   ///< what stands in it
  ErrorCode code = ErrorCode::usage;
};

const Broken broken[] = {
    {"", "s.toml: ", "no schema; schema = 1"},
    {"schema = 2\n", "s.toml:1:10: ", "schema is 2; schema = 1"},
    {"schema = \"1\"\n", "s.toml:1:10: ", "schema is '1'; schema = 1"},
    {"schema = 1\n", "s.toml: ", "a study without a log; at least one [[log]]"},
    {"schema = 1\ntitle = ", "s.toml:2:", "no TOML", ErrorCode::unreadable},
    {"schema = 1\n[[log]\n", "s.toml:2:", "no TOML", ErrorCode::unreadable},
    {"schema = 1\nschema = 1\n", "s.toml:2:", "no TOML", ErrorCode::unreadable},
    {"schema = 1\ntitel = \"x\"\n[[log]]\nfile = \"a\"\n",
     "s.toml:2:1: ", "unknown key 'titel' of a study; did you mean 'title'?"},
    {"schema = 1\ntitle = 3\n[[log]]\nfile = \"a\"\n",
     "s.toml:2:9: ", "title is 3; a text in quotes"},
    {"schema = 1\ntitle = \" \"\n", "s.toml:2:9: ", "title is empty"},
    {"schema = 1\ntime_zone = \"Europe/Berlim\"\n", "s.toml:2:13: ",
     "no time zone is called 'Europe/Berlim'; a name of the IANA list, such as Europe/Berlin or "
     "UTC; did you mean 'Europe/Berlin'?"},
    {"schema = 1\nseed = 1.5\n", "s.toml:2:8: ", "seed is 1.5; a whole number"},
    {"schema = 1\nseed = -1\n", "s.toml:2:8: ", "seed is -1; a whole number of at least 0"},
    {"schema = 1\nlog = \"day1.csv\"\n", "s.toml:2:7: ", "log is 'day1.csv'; [[log]]"},
    {"schema = 1\n[log]\nfile = \"a\"\n", "s.toml:2:1: ", "log is a table; [[log]], in double"},
    {"schema = 1\nlog = [1]\n", "s.toml:2:8: ", "log holds 1; [[log]] with file"},
    {"schema = 1\n[[log]]\nmap = \"m\"\n", "s.toml:2:1: ", "a [[log]] without a file"},
    {"schema = 1\n[[log]]\nfiel = \"a\"\n",
     "s.toml:3:1: ", "unknown key 'fiel' of [[log]]; did you mean 'file'?"},
    {"schema = 1\n[[log]]\nfile = [\"a\"]\n", "s.toml:3:8: ", "file is a list; a text in quotes"},
    {"schema = 1\n[[log]]\nfile = \"a\"\nrole = \"stairs\"\n",
     "s.toml:4:8: ", "role is 'stairs'; one of steps, ramp, empty"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[[log]]\nfile = \"./a\"\n",
     "s.toml:5:8: ", "the log './a' is named twice; each log once; it stands in line 3"},
    {"schema = 1\nsamples = \"s.csv\"\n[[log]]\nfile = \"a\"\n",
     "s.toml:2:11: ", "samples is 's.csv'; [samples] with file"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[samples]\n", "s.toml:4:1: ", "[samples] without a file"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[samples]\nfile = \"s\"\nsheet = \"x\"\n",
     "s.toml:6:1: ", "unknown key 'sheet' of [samples]"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nkinetcs = \"x\"\n", "s.toml:5:1: ",
     "unknown key 'kinetcs' in [fit]; a name of an option; did you mean 'kinetics'?"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\npathway = \"c5\"\n", "s.toml:5:11: ", "c5"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nmin-points = 2.5\n", "s.toml:5:14: ", "2.5"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nmin-points = \"many\"\n", "s.toml:5:14: ", "many"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nlevel = 3\n", "s.toml:5:9: ", "3"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nlevel = nan\n",
     "s.toml:5:9: ", "level is no finite number"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nkinetic = [[1]]\n",
     "s.toml:5:12: ", "kinetic holds a list"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fit.more]\nx = 1\n",
     "s.toml:4:6: ", "unknown key 'more' in [fit]"},
    {"schema = 1\nfit = 3\n[[log]]\nfile = \"a\"\n", "s.toml:2:7: ", "fit is 3; a section: [fit]"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[fitt]\n",
     "s.toml:4:2: ", "unknown key 'fitt' of a study; did you mean 'fit'?"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[flux]\narea = -2\n", "s.toml:5:8: ", "-2"},
    {"schema = 1\n[[log]]\nfile = \"a\"\n[report]\ntheme = true\n", "s.toml:5:9: ", "on"},
};

TEST(StudyBroken, EachIsToldWithItsPlace) {
  for (const Broken& b : broken) {
    const auto study = read_study(b.toml, "s.toml");
    ASSERT_FALSE(study.has_value()) << b.toml;
    const std::string text = study.error().text();
    EXPECT_EQ(text.substr(0, std::string(b.place).size()), b.place) << text;
    EXPECT_NE(text.find(b.says), std::string::npos) << "no '" << b.says << "' in: " << text;
    EXPECT_EQ(study.error().code, b.code) << text;
  }
  EXPECT_GE(std::size(broken), 20U);
}

TEST(StudyBroken, TheLineIsShownWithACaret) {
  const auto study = read_study("schema = 1\n[[log]]\nfile = \"a\"\n[fit]\nlevel = 3\n", "s.toml");
  EXPECT_NE(study.error().text().find("\n  level = 3\n          ^"), std::string::npos)
      << study.error().text();
}

TEST(TimeZone, OneTwoOrNoMoment) {
  const auto berlin = zone_rule("Europe/Berlin");
  ASSERT_TRUE(berlin.has_value());
  constexpr std::int64_t day = 86400;
  // 2025-06-17 is day 20256; 2025-03-30 and 2025-10-26 are the clock changes of that year.
  EXPECT_EQ((*berlin)(20256 * day + 12 * 3600), std::vector<double>{7200});
  EXPECT_EQ((*berlin)(20100 * day), std::vector<double>{3600});
  EXPECT_TRUE((*berlin)(20177 * day + 2 * 3600 + 1800).empty());
  EXPECT_EQ((*berlin)(20387 * day + 2 * 3600 + 1800), (std::vector<double>{7200, 3600}));
  EXPECT_FALSE(zone_rule("Mars/Olympus").has_value());
}

}  // namespace
}  // namespace leafwright
