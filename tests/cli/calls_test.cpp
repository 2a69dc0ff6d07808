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

void PrintTo(const Case& c, std::ostream* out) {
  *out << c.name;
}

class WrongCall : public testing::TestWithParam<Case> {};

TEST_P(WrongCall, IsToldExactly) {
  const Case& c = GetParam();
  const Folder folder;
  folder.write("p.csv", c.points);
  const Ended run = folder.run(c.arguments);
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
    {"EmptyFileName",
     {"fit", "", "--pathway", "c3"},
     2,
     "leafwright: a name of POINTS... is empty; a file"},
    {"ExtraInput",
     {"settings", "foo"},
     2,
     "leafwright: 'foo' has no place here; 'leafwright settings --help' shows the call"},
    {"NoPathway",
     {"fit", "p.csv"},
     2,
     "leafwright: no --pathway given; --pathway c3 or --pathway c4; there is no default: a C4 leaf "
     "fitted as C3 gives numbers without meaning"},
    {"C4WithASettingOfC3",
     {"fit", "p.csv", "--pathway", "c4", "--limitations", "rubisco"},
     2,
     "leafwright: --limitations with --pathway c4; no such setting: it belongs to the C3 model; "
     "leave --limitations out"},
    {"C4WithFiniteGm",
     {"fit", "p.csv", "--pathway", "c4", "--gm", "1"},
     4,
     "leafwright: --gm 1 with --pathway c4; --gm infinite: the C4 fit takes Cm as Ci, so its "
     "initial slope is that against Ci"},
    {"C4WithC3Kinetics",
     {"fit", "p.csv", "--pathway", "c4", "--kinetics", "bernacchi-2001"},
     2,
     "leafwright: no C4 kinetics set is called 'bernacchi-2001'; one of boyd-2015, "
     "von-caemmerer-2000, von-caemmerer-2021; that set is for C3 leaves: they have no PEP "
     "carboxylase step"},
    {"WrongPathway",
     {"fit", "p.csv", "--pathway", "c5"},
     2,
     "leafwright: 'c5' for 'pathway' is not among the choices; one of c3, c4"},
    {"OptionWithoutValue", fit({"--kinetics"}), 2,
     "leafwright: --kinetics needs a value; 'leafwright fit --help' shows the call"},
    {"OptionTwice", fit({"--level", "0.9", "--level", "0.95"}), 2,
     "leafwright: --level is given twice; one value"},
    {"OutOfRange", fit({"--level", "95"}), 2,
     "leafwright: '95' for 'level' is out of range; a number from 0.6 to 0.999"},
    {"DecimalComma", fit({"--tleaf", "25,5"}), 2,
     "leafwright: '25,5' for 'tleaf' is not a number; a number from -10 to 60 degC; write the "
     "decimal mark as a point"},
    {"UnknownKinetics", fit({"--kinetics", "bernachi-2001"}), 2,
     "leafwright: no kinetics set is called 'bernachi-2001'; expected one of bernacchi-2001, "
     "bernacchi-2002, von-caemmerer-1994, von-caemmerer-1994-gm-0.3; choose one of these, or give "
     "constants of your own by symbol"},
    {"NegativeRespiration", fit({"--rday", "-1"}), 2,
     "leafwright: '-1' for --rday; free, a number of 0 or more, column:NAME, fraction:VALUE, "
     "dark:VALUE or dark:column:NAME; respiration is positive: change the sign"},
    {"FileGivenTwice",
     {"fit", "p.csv", "p.csv", "--pathway", "c3"},
     2,
     "leafwright: 'p.csv' is given twice; each file once"},
    {"NoSuchFile", {"fit", "gone.csv", "--pathway", "c3"}, 3, "gone.csv: there is no such file"},
    {"AFolderIsNoFile", {"fit", ".", "--pathway", "c3"}, 3, ".: this is a folder; a file"},
    {"EmptyFile", fit({}), 3, "p.csv: the file is empty; was its writing broken off?", ""},
    {"NoColumnCi", fit({}), 3,
     "p.csv:1: no column 'Ci'; one with this name of the open reporting format, in umol mol-1; "
     "there is 'ci': names are case-sensitive, rename it",
     "curve_id,A,ci,Tleaf,Patm\na,5,100,25,101.3\n"},
    {"UnitOfAnotherKind", fit({}), 3,
     "p.csv:1:10: column 'A': 'kPa' is a unit of pressure; a unit of flux per area, such as 'umol "
     "m-2 s-1'; correct the unit, or the column it stands over\n"
     "  curve_id,A (kPa),Ci,Tleaf,Patm\n"
     "           ^",
     "curve_id,A (kPa),Ci,Tleaf,Patm\na,5,100,25,101.3\n"},
    {"OnlyMatchesNothing", fit({"--only", "curve_id=z"}), 2,
     "leafwright: no row of p.csv has curve_id = 'z'; a value of the column: a"},
    {"CurveColumnIsNotThere", fit({"--curve", "leaf"}), 2,
     "p.csv:1: no column 'leaf'; the column that names the curves; if 'Tleaf' is meant, rename it"},
    {"MistypedFile",
     {"fit", "q.csv", "--pathway", "c3"},
     3,
     "q.csv: there is no such file; did you mean 'p.csv'?"},
    {"TwoColumnsOfOneName", fit({}), 3,
     "p.csv:1: column 'Ci' is there twice (columns 3 and 4); one; rename or remove one of them",
     "curve_id,A,Ci,Ci,Tleaf,Patm\na,5,100,100,25,101.3\n"},
    {"NotATable", fit({}), 3,
     "p.csv:3: the file holds zero bytes: it is not a text; delimited text (or a "
     "spreadsheet saved as .xlsx)",
     std::string("\x89PNG\r\n\x1a\n\0\0\0\rIHDR", 16)},
    {"FiniteGm", fit({"--gm", "0.2"}), 4,
     "leafwright: the kinetics set 'bernacchi-2001' was derived for Ci, and gm is finite; expected "
     "a set derived for Cc: a Ci set already holds the drop from Ci to Cc, which would be counted "
     "twice; choose a Cc set such as bernacchi-2002, or leave gm infinite"},
    {"GmInTheWrongUnit", fit({"--kinetics", "bernacchi-2002", "--gm", "250"}), 2,
     "leafwright: --gm 250; mol m-2 s-1, at most 50 (leaves have 0.05 to 2); a gm in mmol m-2 s-1 "
     "is a thousand times too high; or leave gm infinite"},
    {"SmoothOutOfRange", fit({"--smooth", "1.5"}), 2,
     "leafwright: '1.5' for --smooth; none, or a number above 0 and up to 1, such as 0.98"},
    {"SmoothWithGm", fit({"--kinetics", "bernacchi-2002", "--gm", "free", "--smooth", "0.98"}), 4,
     "leafwright: --smooth 0.98 with --gm free; one of the two: no fit here blends limitations "
     "under finite gm"},
    {"NoMapForPointsUnderTheirNames",
     {"look", "p.csv", "--write-map", "map.toml"},
     4,
     "p.csv: no column map to write: the titles say what the columns are; a log with other titles, "
     "or a map given with --map; use the file without a map"},
};

INSTANTIATE_TEST_SUITE_P(Calls, WrongCall, testing::ValuesIn(cases),
                         [](const auto& tested) { return std::string(tested.param.name); });

TEST(Calls, VersionAndHelp) {
  const Folder folder;
  EXPECT_EQ(folder.run({"--version"}).out, "leafwright " LEAFWRIGHT_VERSION "\n");
  for (const std::vector<std::string>& call :
       {std::vector<std::string>{"--help"}, {"fit", "--help"}, {"look", "-h"}, {"help"}}) {
    const Ended run = folder.run(call);
    EXPECT_EQ(run.code, 0);
    EXPECT_EQ(run.err, "");
    EXPECT_NE(run.out.find("example\n  leafwright "), std::string::npos) << run.out;
  }
}

TEST(Calls, AloneItShowsTheHelpAndIsAWrongCall) {
  const Folder folder;
  const Ended run = folder.run({});
  EXPECT_EQ(run.code, 2);
  EXPECT_EQ(run.out, "");
  EXPECT_NE(run.err.find("commands\n"), std::string::npos);
}

TEST(Calls, ANegativeNumberIsAValue) {
  const Folder folder;
  folder.write("p.csv", points_csv(1));
  const Ended run = folder.run({"fit", "p.csv", "--pathway", "c3", "--tleaf", "-1"});
  EXPECT_EQ(run.code, 0) << run.err;
}

TEST(Calls, WhatFollowsTwoDashesIsAFile) {
  const Folder folder;
  folder.write("-p.csv", points_csv(1));
  EXPECT_EQ(folder.run({"fit", "--pathway", "c3", "--", "-p.csv"}).code, 0);
  EXPECT_EQ(folder.run({"fit", "--pathway", "c3", "-p.csv"}).code, 2);
}

TEST(Calls, HelpOfOneCommand) {
  const Folder folder;
  EXPECT_EQ(folder.run({"help", "fit"}).out, folder.run({"fit", "--help"}).out);
  const Ended run = folder.run({"help", "fits"});
  EXPECT_EQ(run.code, 2);
  EXPECT_EQ(run.err, "leafwright: there is no command 'fits'; did you mean 'fit'?\n");
}

TEST(Calls, AFileNamedLikeACommandIsAFile) {
  const Folder folder;
  folder.write("look", points_csv(1));
  EXPECT_EQ(folder.run({"fit", "look", "--pathway", "c3"}).code, 0);
}

/// The first line of docs/NAME that is not what the program prints; "" where all are.
std::string first_difference(const char* name, const std::string& printed) {
  std::ifstream file(std::filesystem::path(LEAFWRIGHT_SOURCE_DIR) / "docs" / name,
                     std::ios::binary);
  std::istringstream program(printed);
  std::string ours, theirs;
  for (int line = 1;; ++line) {
    const bool more = static_cast<bool>(std::getline(file, ours));
    const bool wanted = static_cast<bool>(std::getline(program, theirs));
    if (!more && !wanted) return "";
    if (more != wanted || ours != theirs) {
      return std::string("docs/") + name + ":" + std::to_string(line) + ": '" +
             (more ? ours : "end of page") + "'; the program prints '" +
             (wanted ? theirs : "no more") + "'";
    }
  }
}

// To bring the pages up to date:
//   build/release/leafwright settings --markdown > docs/settings.md
//   build/release/leafwright help --markdown > docs/commands.md
TEST(Docs, SettingsPageIsWhatTheProgramSays) {
  EXPECT_EQ(first_difference("settings.md", Folder().run({"settings", "--markdown"}).out), "");
}

TEST(Docs, CommandsPageIsWhatTheProgramSays) {
  EXPECT_EQ(first_difference("commands.md", Folder().run({"help", "--markdown"}).out), "");
}

}  // namespace
}  // namespace leafwright::cli_test
