// Nothing is overwritten without --force, and nothing half written is left.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

class Outputs : public testing::Test {
 protected:
  void SetUp() override { folder.write("points.csv", points_csv(2)); }

  [[nodiscard]] Ended fit(std::vector<std::string> more) const {
    std::vector<std::string> arguments = {"fit", "points.csv", "--pathway", "c3"};
    arguments.insert(arguments.end(), more.begin(), more.end());
    return folder.run(arguments);
  }

  Folder folder;
};

TEST_F(Outputs, AFileThatIsThereIsRefused) {
  folder.write("fits.csv", "mine");
  const Ended run = fit({"--out", "fits.csv"});
  EXPECT_EQ(run.code, 4);
  EXPECT_EQ(run.out, "");
  EXPECT_EQ(run.err,
            "leafwright: 'fits.csv' is there already; give another name, or --force to replace "
            "it\n");
  EXPECT_EQ(folder.read("fits.csv"), "mine");
  EXPECT_EQ(fit({"--out", "fits.csv", "--force"}).code, 0);
  EXPECT_NE(folder.read("fits.csv"), "mine");
}

TEST_F(Outputs, OneThatIsInTheWayStopsTheOthersToo) {
  folder.write("fits.csv.meta.json", "mine");
  EXPECT_EQ(fit({"--out", "fits.csv", "--json", "fits.json"}).code, 4);
  EXPECT_EQ(folder.names(), (std::vector<std::string>{"fits.csv.meta.json", "points.csv"}));
}

TEST_F(Outputs, AnInputIsNeverReplaced) {
  const std::string before = folder.read("points.csv");
  const Ended run = fit({"--out", "./points.csv", "--force"});
  EXPECT_EQ(run.code, 4);
  EXPECT_NE(run.err.find("'./points.csv' is the input"), std::string::npos) << run.err;
  EXPECT_EQ(folder.read("points.csv"), before);
}

TEST_F(Outputs, AFolderThatIsMissingIsMade) {
  EXPECT_EQ(fit({"--out", "out/season/fits.csv"}).code, 0);
  EXPECT_TRUE(folder.has("out/season/fits.csv.meta.json"));
}

TEST_F(Outputs, AWriteThatFailsLeavesNothing) {
  // A name that no disk takes: found out only when writing, after the other files are prepared.
  const Ended run = fit({"--json", "fits.json", "--out", std::string(300, 'x')});
  EXPECT_EQ(run.code, 4);
  EXPECT_EQ(run.out, "");
  EXPECT_NE(run.err.find("could not be written: "), std::string::npos) << run.err;
  EXPECT_EQ(folder.names(), std::vector<std::string>{"points.csv"});
}

TEST_F(Outputs, AFolderOfFiguresThatIsNotEmptyIsRefused) {
  std::filesystem::create_directory(folder.path() / "figures");
  folder.write("figures/mine.svg", "mine");
  EXPECT_EQ(fit({"--figures", "figures"}).code, 4);
  EXPECT_FALSE(folder.has("figures/c1.svg"));
  EXPECT_EQ(fit({"--figures", "figures", "--force"}).code, 0);
  EXPECT_TRUE(folder.has("figures/c1.svg"));
  EXPECT_EQ(folder.read("figures/mine.svg"), "mine");
}

TEST_F(Outputs, TwoResultsAtOnePlaceAreAWrongCall) {
  EXPECT_EQ(fit({"--out", "-", "--json", "-"}).code, 2);
  EXPECT_EQ(fit({"--out", "x", "--json", "./x"}).code, 2);
  EXPECT_EQ(fit({"--out", "x", "--json", "x.meta.json"}).code, 2);
}

TEST_F(Outputs, TheTableMayGoToStandardOutput) {
  const Ended run = fit({"--out", "-"});
  EXPECT_EQ(run.code, 0) << run.err;
  EXPECT_EQ(run.out.rfind("curve_id,file,", 0), 0U);
  EXPECT_EQ(folder.names(), std::vector<std::string>{"points.csv"});
}

TEST_F(Outputs, AFullDiskOnStandardOutputIsTold) {
  // /dev/full accepts nothing; only a shell can stand it in for standard output here.
  if (!std::filesystem::exists("/dev/full")) GTEST_SKIP();
  const std::string line = "cd '" + folder.path().string() +
                           "' && '" LEAFWRIGHT_BINARY_DIR
                           "/leafwright' fit points.csv --pathway c3 >/dev/full 2>err";
  const int status = std::system(line.c_str());
  EXPECT_EQ(WEXITSTATUS(status), 4);
  EXPECT_EQ(folder.read("err"),
            "leafwright: standard output took only a part of the results; is the disk full?\n");
}

TEST_F(Outputs, FiguresGetSafeNames) {
  std::string points = points_csv(1);
  std::string all = points;
  for (const char* id : {"C1", "a/../b", "con", "contact-sheet"}) {
    std::string copy = points.substr(points.find('\n') + 1);
    for (std::size_t at = 0; (at = copy.find("c1,", at)) != std::string::npos;) {
      copy.replace(at, 2, id);
      at += std::string(id).size();
    }
    all += copy;
  }
  folder.write("points.csv", all);
  const Ended run = fit({"--figures", "figures"});
  ASSERT_EQ(run.code, 0) << run.err;
  for (const char* name : {"c1.svg", "C1-2.svg", "a_.._b.svg", "curve-con.svg",
                           "curve-contact-sheet.svg", "contact-sheet.svg"}) {
    EXPECT_TRUE(folder.has(std::string("figures/") + name)) << name;
  }
}

TEST_F(Outputs, CtrlCDuringALongFitLeavesNothing) {
  folder.write("points.csv", points_csv(400));
  const Ended run = folder.interrupted_run(
      {"fit", "points.csv", "--pathway", "c3", "--intervals", "bootstrap", "--replicates",
       "1000000", "--out", "fits.csv", "--figures", "figures"},
      1.0);
  EXPECT_EQ(run.code, 130);
  EXPECT_EQ(run.out, "");
  EXPECT_EQ(run.err, "\nleafwright: interrupted; nothing was written\n");
  EXPECT_EQ(folder.names(), std::vector<std::string>{"points.csv"});
}

}  // namespace
}  // namespace leafwright::cli_test
