// Wrong calls and broken inputs: the exit code, the exact message, and nothing on standard output.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

struct Case {
  const char* name;
  std::vector<std::string> arguments;
  int code;
  std::string message;
  std::string points = "curve_id,A,Ci,Tleaf,Patm\na,5,100,25,101.3\n";
};

class WrongCall : public testing::TestWithParam<Case> {};

TEST_P(WrongCall, IsToldExactly) {
  const Case& c = GetParam();
  const Folder folder;
  folder.write("p.csv", c.points);
  const Run run = folder.run(c.arguments);
  EXPECT_EQ(run.code, c.code);
  EXPECT_EQ(run.out, "");
  EXPECT_EQ(run.err, c.message + "\n");
}

std::vector<std::string> fit(std::vector<std::string> more) {
  std::vector<std::string> arguments = {"fit", "p.csv", "--pathway", "c3"};
  arguments.insert(arguments.end(), more.begin(), more.end());
  return arguments;
}

const Case cases[] = {
    {"UnknownCommand", {"fti"}, 2, "leafwright: unknown command 'fti'; did you mean 'fit'?"},
    {"UnknownOptionOfTheProgram",
     {"--frobnicate"},
     2,
     "leafwright: unknown option '--frobnicate'; 'leafwright --help' shows what there is"},
    {"UnknownOption", fit({"--kinetcs", "x"}), 2,
     "leafwright: unknown option '--kinetcs'; did you mean '--kinetics'?"},
    {"UnknownOptionFarFromAny", fit({"--zzzzzzz=3"}), 2,
     "leafwright: unknown option '--zzzzzzz'; 'leafwright fit --help' lists the options"},
    {"NoInput",
     {"fit", "--pathway", "c3"},
     2,
     "leafwright: no POINTS... given; a file, or - for standard input; leafwright fit --help"},
    {"NoPathway",
     {"fit", "p.csv"},
     2,
     "leafwright: no --pathway given; --pathway c3 or --pathway c4; there is no default: a C4 leaf "
     "fitted as C3 gives numbers without meaning"},
    {"C4IsRefused",
     {"fit", "p.csv", "--pathway", "c4"},
     4,
     "leafwright: --pathway c4; --pathway c3: this version fits C3 only"},
    {"WrongPathway",
     {"fit", "p.csv", "--pathway", "c5"},
     2,
     "leafwright: 'c5' for 'pathway' is not among the choices; one of c3, c4; did you mean 'c3'?"},
    {"OptionWithoutValue", fit({"--kinetics"}), 2,
     "leafwright: --kinetics needs a value; 'leafwright fit --help' shows the call"},
    {"OptionTwice", fit({"--level", "0.9", "--level", "0.95"}), 2,
     "leafwright: --level is given twice; one value"},
    {"OutOfRange", fit({"--level", "95"}), 2,
     "leafwright: '95' for 'level' is out of range; a number from 0.6 to 0.999"},
    {"DecimalComma", fit({"--tleaf", "25,5"}), 2,
     "leafwright: '25,5' for 'tleaf' is not a number; a number from -10 to 60 degC; write the "
     "decimal mark as a point"},
    {"UnknownKinetics", fit({"--kinetics", "bernachi-2001"}), 2, ""},
    {"NegativeRespiration", fit({"--rday", "-1"}), 2,
     "leafwright: '-1' for --rday; free, a number of 0 or more, column:NAME or fraction:VALUE; "
     "respiration is positive: change the sign"},
    {"FileGivenTwice",
     {"fit", "p.csv", "p.csv", "--pathway", "c3"},
     2,
     "leafwright: 'p.csv' is given twice; each file once"},
    {"NoSuchFile", {"fit", "gone.csv", "--pathway", "c3"}, 3, ""},
    {"AFolderIsNoFile", {"fit", ".", "--pathway", "c3"}, 3, ""},
    {"EmptyFile", fit({}), 3, "", ""},
    {"NoColumnCi", fit({}), 3, "", "curve_id,A,ci,Tleaf,Patm\na,5,100,25,101.3\n"},
    {"UnitOfAnotherKind", fit({}), 3, "", "curve_id,A (kPa),Ci,Tleaf,Patm\na,5,100,25,101.3\n"},
    {"OnlyMatchesNothing", fit({"--only", "curve_id=z"}), 2, ""},
    {"CurveColumnIsNotThere", fit({"--curve", "leaf"}), 2, ""},
    {"WriteMapIsNotThereYet",
     {"look", "p.csv", "--write-map", "map.toml"},
     2,
     "leafwright: --write-map; --json FILE for what was found; this version does not write column "
     "maps yet"},
};

INSTANTIATE_TEST_SUITE_P(Calls, WrongCall, testing::ValuesIn(cases),
                         [](const auto& tested) { return std::string(tested.param.name); });

TEST(Calls, VersionAndHelp) {
  const Folder folder;
  EXPECT_EQ(folder.run({"--version"}).out, "leafwright " LEAFWRIGHT_VERSION "\n");
  for (const std::vector<std::string>& call :
       {std::vector<std::string>{"--help"}, {"fit", "--help"}, {"look", "-h"}, {"help"}}) {
    const Run run = folder.run(call);
    EXPECT_EQ(run.code, 0);
    EXPECT_EQ(run.err, "");
    EXPECT_NE(run.out.find("example\n  leafwright "), std::string::npos) << run.out;
  }
}

TEST(Calls, AloneItShowsTheHelpAndIsAWrongCall) {
  const Folder folder;
  const Run run = folder.run({});
  EXPECT_EQ(run.code, 2);
  EXPECT_EQ(run.out, "");
  EXPECT_NE(run.err.find("commands\n"), std::string::npos);
}

TEST(Calls, ANegativeNumberIsAValue) {
  const Folder folder;
  folder.write("p.csv", points_csv(1));
  const Run run = folder.run({"fit", "p.csv", "--pathway", "c3", "--tleaf", "-1"});
  EXPECT_EQ(run.code, 0) << run.err;
}

TEST(Calls, AFileNamedLikeACommandIsAFile) {
  const Folder folder;
  folder.write("look", points_csv(1));
  EXPECT_EQ(folder.run({"fit", "look", "--pathway", "c3"}).code, 0);
}

std::string page(const char* name) {
  std::ifstream file(std::filesystem::path(LEAFWRIGHT_SOURCE_DIR) / "docs" / name,
                     std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

// To bring the pages up to date:
//   build/release/leafwright settings --markdown > docs/settings.md
//   build/release/leafwright help --markdown > docs/commands.md
TEST(Docs, SettingsPageIsWhatTheProgramSays) {
  EXPECT_EQ(page("settings.md"), Folder().run({"settings", "--markdown"}).out);
}

TEST(Docs, CommandsPageIsWhatTheProgramSays) {
  EXPECT_EQ(page("commands.md"), Folder().run({"help", "--markdown"}).out);
}

}  // namespace
}  // namespace leafwright::cli_test
