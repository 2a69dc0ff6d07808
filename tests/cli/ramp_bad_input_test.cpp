// What a person does wrong before `leafwright ramp`: each fault gets its message, what is sound
// goes on, and every row of the log is in the output. Made from an independent simulation
// (tests/published/data/ramps_simulated, case up200) by breaking it.
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <sstream>
#include <string>
#include <vector>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using Row = std::vector<std::string>;

enum Column : std::size_t { time_s, CO2r, CO2s, H2Or, H2Os, flow, Patm, Tair, Tleaf, Qin, area };

struct BrokenRamps : testing::Test {
  BrokenRamps() {
    for (const char* name : {"up200_leaf.csv", "up200_empty.csv"}) {
      fs::copy_file(fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated" / name,
                    folder.path() / name);
    }
    folder.write("i.toml",
                 "chamber_volume = \"40 mL\"\ninlet_volume = \"10 mL\"\n"
                 "gbw = \"3 mol m-2 s-1\"\ngbw_is = \"whole leaf\"\n");
    title = split(folder.read("up200_leaf.csv"), '\n').front();
    leaf = read("up200_leaf.csv");
    empty = read("up200_empty.csv");
  }
  static std::vector<std::string> split(const std::string& text, char at) {
    std::vector<std::string> out;
    std::istringstream in(text);
    for (std::string part; std::getline(in, part, at);) out.push_back(part);
    return out;
  }
  [[nodiscard]] std::vector<Row> read(const std::string& name) const {
    std::vector<Row> out;
    for (const std::string& line : split(folder.read(name), '\n')) out.push_back(split(line, ','));
    out.erase(out.begin());
    return out;
  }
  static void times(Row& row, Column column, double factor, double add = 0) {
    row[column] = std::to_string(std::stod(row[column]) * factor + add);
  }
  /// Writes both records and corrects.
  [[nodiscard]] Ended ramp() const {
    const auto write = [this](const std::string& name, const std::vector<Row>& rows) {
      std::string text = title + "\n";
      for (const Row& row : rows) {
        for (std::size_t i = 0; i < row.size(); ++i) text += (i == 0 ? "" : ",") + row[i];
        text += "\n";
      }
      folder.write(name, text);
    };
    write("leaf.csv", leaf);
    write("empty.csv", empty);
    return folder.run({"ramp", "leaf.csv", "--empty", "empty.csv", "--instrument", "i.toml",
                       "--out", "p.csv", "--force"});
  }
  void expect_every_row() const {
    EXPECT_EQ(split(folder.read("p.csv"), '\n').size(), leaf.size() + 1);
  }
  static std::string flat(const std::string& text) {
    std::string out;
    for (const char c : text) {
      const char now = c == '\n' ? ' ' : c;
      if (now != ' ' || out.empty() || out.back() != ' ') out += now;
    }
    return out;
  }
  static void expect_says(const Ended& run, const std::vector<std::string>& what) {
    const std::string said = flat(run.out + run.err);
    for (const std::string& one : what) {
      EXPECT_NE(said.find(one), std::string::npos) << "not said: " << one << "\n" << said;
    }
  }
  std::string title;
  std::vector<Row> leaf, empty;
  Folder folder;
};

TEST_F(BrokenRamps, AnEmptyThatIsNotEmpty) {
  empty = leaf;
  const Ended run = ramp();
  EXPECT_EQ(run.code, 4);
  expect_says(run, {"empty.csv", "more water than it came with", "record it again without a leaf"});
  EXPECT_FALSE(folder.has("p.csv"));
}

TEST_F(BrokenRamps, AnEmptyWithoutHolds) {
  std::erase_if(empty, [](const Row& row) {
    return std::stod(row[CO2r]) < 70 || std::stod(row[CO2r]) > 980;
  });
  const Ended run = ramp();
  EXPECT_EQ(run.code, 4);
  expect_says(run, {"empty.csv", "lag is not known", "holds of 20 s", "subtract works without"});
}

TEST_F(BrokenRamps, TheClockIsSetBack) {
  for (std::size_t i = 150; i < leaf.size(); ++i) times(leaf[i], time_s, 1, -3600);
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"the clock steps back at line 152", "216 of 366 rows", "record a hold"});
  expect_every_row();
}

TEST_F(BrokenRamps, TheClockIsSetOn) {
  for (std::size_t i = 150; i < leaf.size(); ++i) times(leaf[i], time_s, 1, 3600);
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"1 gap before line 152", "3601 s", "the clock jumped"});
  EXPECT_NE(folder.read("p.csv").find("behind a gap in the record"), std::string::npos);
  expect_every_row();
}

TEST_F(BrokenRamps, RowsAreMissingAndRepeated) {
  const Row twice = leaf[120];
  leaf.insert(leaf.begin() + 121, twice);
  leaf.erase(leaf.begin() + 200, leaf.begin() + 230);
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"line 123", "1 gap before line 202", "rows are missing"});
  expect_every_row();
}

TEST_F(BrokenRamps, TheFlowStepsInMidRamp) {
  const std::vector<Row> sound = leaf;
  for (std::size_t i = 180; i < leaf.size(); ++i) times(leaf[i], flow, 1.05);
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"chamber flow steps from 350 to 367.5"});
  expect_every_row();
  leaf = sound;
  for (std::size_t i = 180; i < empty.size(); ++i) times(empty[i], flow, 1.05);
  const Ended refused = ramp();
  EXPECT_EQ(refused.code, 4);
  expect_says(refused, {"empty.csv", "steps from 350 to 367.5", "cut the record there"});
}

TEST_F(BrokenRamps, ARampThatTurnsRound) {
  leaf.resize(180);
  for (std::size_t i = 0; i < 180; ++i) {
    Row back = leaf[179 - i];
    back[time_s] = std::to_string(180 + i);
    leaf.push_back(back);
  }
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"CO2r goes up and down in this record"});
  expect_every_row();
}

TEST_F(BrokenRamps, OneStreamInAnotherUnit) {
  for (Row& row : leaf) times(row, CO2s, 1e-3);
  const Ended run = ramp();
  EXPECT_EQ(run.code, 3);
  expect_says(run, {"leaf.csv", "times CO2r", "state the unit of each column"});
}

TEST_F(BrokenRamps, TheUnitChangesInMidRecord) {
  for (std::size_t i = 200; i < leaf.size(); ++i) {
    times(leaf[i], CO2r, 1e-3);
    times(leaf[i], CO2s, 1e-3);
  }
  const Ended run = ramp();
  EXPECT_EQ(run.code, 3);
  expect_says(run, {"leaf.csv:202", "one unit in all rows", "two files"});
}

TEST_F(BrokenRamps, PressureInAnotherUnit) {
  for (Row& row : leaf) times(row, Patm, 10);
  const Ended run = ramp();
  EXPECT_NE(run.code, 0);
  expect_says(run, {"leaf.csv", "most were left out: "});
  EXPECT_EQ(flat(run.err).find("most were left out: ;"), std::string::npos) << run.err;
}

TEST_F(BrokenRamps, LagsThatAreEqualAlready) {
  for (const char* name : {"matched_up200_leaf.csv", "matched_up200_empty.csv"}) {
    fs::copy_file(fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated" / name,
                  folder.path() / name);
  }
  const Ended path = folder.run({"path", "matched_up200_empty.csv"});
  EXPECT_EQ(path.code, 0);
  expect_says(path, {"equal"});
  for (const char* method : {"forward", "equal-lag"}) {
    const Ended run =
        folder.run({"ramp", "matched_up200_leaf.csv", "--empty", "matched_up200_empty.csv",
                    "--instrument", "i.toml", "--correction", method, "--out", "p.csv", "--force"});
    EXPECT_EQ(run.code, 0) << method << run.err;
    expect_says(run, {"time constant of the chamber"});
  }
}

TEST_F(BrokenRamps, CellsThatAreNoNumbers) {
  leaf[100][CO2s] = "oops";
  leaf[101][CO2s] = "";
  const Ended run = ramp();
  EXPECT_EQ(run.code, 0) << run.err;
  expect_says(run, {"leaf.csv:102", "'oops' is not a number", "correct or empty the cell"});
  EXPECT_NE(folder.read("p.csv").find("CO2s is missing"), std::string::npos);
  expect_every_row();
}

}  // namespace
}  // namespace leafwright::cli_test
