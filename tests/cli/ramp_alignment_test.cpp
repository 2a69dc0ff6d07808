// `leafwright ramp` on logs that hold A and Ci of their own. The open ramps of Braun et al. 2024
// (doi 10.1093/treephys/tpae153, CC BY 4.0; tests/published/data/paired): their A is a balance with
// storage of aligned signals, their Ci was made from a CO2s column that is about 7 s late. The
// aligned columns, which the tool does not read here, are the judge.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using Row = std::map<std::string, std::string>;

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> out;
  std::string cell;
  bool quoted = false;
  for (const char c : line) {
    if (c == '"') quoted = !quoted;
    if (c == ',' && !quoted) {
      out.push_back(std::move(cell));
      cell.clear();
    } else if (c != '"' && c != '\r') {
      cell += c;
    }
  }
  out.push_back(std::move(cell));
  return out;
}

std::vector<Row> rows_of(std::istream& in) {
  std::string line;
  std::getline(in, line);
  const auto titles = cells_of(line);
  std::vector<Row> out;
  while (std::getline(in, line)) {
    const auto cells = cells_of(line);
    Row row;
    for (std::size_t i = 0; i < cells.size(); ++i) row[titles[i]] = cells[i];
    out.push_back(std::move(row));
  }
  return out;
}

double number(const Row& row, const std::string& title) {
  const std::string& text = row.at(title);
  return text.empty() ? std::nan("") : std::stod(text);
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

constexpr const char* titles[] = {"curve_id", "elapsed_s", "A",    "Ci",   "CO2r", "CO2s",
                                  "H2Or",     "H2Os",      "flow", "area", "Patm", "Tair",
                                  "Tleaf",    "Qin",       "gbw",  "E"};

struct RecordedRamps : testing::Test {
  RecordedRamps() {
    std::ifstream in(fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/paired/points.csv");
    std::map<std::string, int> seen;
    for (Row& row : rows_of(in)) {
      // The first row of a ramp was taken minutes before it.
      if (row["method"] == "ramp" && seen[row["curve_id"]]++ > 0) rows.push_back(std::move(row));
    }
    folder.write("i.toml",
                 "chamber_volume = \"65.9 mL\"\noverpressure = \"0.1 kPa\"\n"
                 "gbw_is = \"per side\"\nstomatal_ratio = 0.5\n");
    write("late.csv", rows);
  }
  void write(const std::string& name, const std::vector<Row>& what) const {
    std::string text;
    for (const char* title : titles) text += (text.empty() ? "" : ",") + std::string(title);
    for (const Row& row : what) {
      std::string line;
      for (const char* title : titles) line += (line.empty() ? "" : ",") + row.at(title);
      text += "\n" + line;
    }
    folder.write(name, text + "\n");
  }
  /// CO2r and CO2s of the aligned columns, per moist air.
  [[nodiscard]] std::vector<Row> aligned() const {
    std::vector<Row> out = rows;
    for (Row& row : out) {
      const auto moist = [&row](const char* dry, const char* water) {
        return std::to_string(number(row, dry) * (1 - number(row, water) / 1000));
      };
      const std::string R = moist("CO2r_dry_aligned", "H2Or");
      row["CO2s"] = moist("CO2s_dry_aligned", "H2Os");
      row["CO2r"] = R;
    }
    return out;
  }
  [[nodiscard]] Ended ramp(const std::string& log, std::vector<std::string> more) const {
    std::vector<std::string> call = {"ramp",   log, "--instrument", "i.toml", "--out", "p.csv",
                                     "--json", "-", "--force"};
    call.insert(call.end(), more.begin(), more.end());
    return folder.run(call);
  }
  /// Median |Ci - Ci from the aligned CO2s|, of the used rows: of the log, and of p.csv. The
  /// difference of two Ci with the same A and E is (g - E/2)/(g + E/2) times that of CO2s.
  void distances(double& of_log, double& of_points) const {
    std::istringstream in(folder.read("p.csv"));
    const auto points = rows_of(in);
    ASSERT_EQ(points.size(), rows.size());
    std::vector<double> before, after;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (points[i].at("use") != "1") continue;
      const Row& row = rows[i];
      const double E = number(row, "E") / 1000;
      const double gbw = 2 * number(row, "gbw") / 1000;  // sides as they count at ratio 0.5
      const double g = 1 / (1.6 / (number(row, "gsw") / 1000) + 1.37 / gbw);
      const double S = number(row, "CO2s_dry_aligned") * (1 - number(row, "H2Os") / 1000);
      const double Ci = number(row, "Ci") + (g - E / 2) / (g + E / 2) * (S - number(row, "CO2s"));
      before.push_back(std::abs(number(row, "Ci") - Ci));
      after.push_back(std::abs(number(points[i], "Ci") - Ci));
    }
    ASSERT_GT(after.size(), 1500U);
    of_log = median(before);
    of_points = median(after);
  }
  std::vector<Row> rows;
  Folder folder;
};

TEST_F(RecordedRamps, TheLatenessOfTheColumnsIsFoundAndMended) {
  const Ended run = ramp("late.csv", {"--correction", "recorded"});
  ASSERT_EQ(run.code, 0) << run.err;
  std::vector<double> lates;
  const json made = json::parse(run.out);
  for (const json& one : made["ramps"]) {
    EXPECT_EQ(one["used"]["correction"], "recorded");
    EXPECT_EQ(one["alignment"]["misaligned"], true);
    EXPECT_EQ(one["alignment"]["Ci_from_column"], true);
    lates.push_back(one["alignment"]["late_s"]);
  }
  ASSERT_EQ(lates.size(), 6U);
  EXPECT_NEAR(median(lates), 7, 1);
  double of_log = 0, of_points = 0;
  distances(of_log, of_points);
  std::printf("Ci: %.1f off in the log, %.1f mended\n", of_log, of_points);
  EXPECT_GT(of_log, 30);
  EXPECT_LT(of_points, 5);
}

TEST_F(RecordedRamps, StatedLatenessIsTaken) {
  const Ended run = ramp("late.csv", {"--correction", "recorded", "--columns-late", "7"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("as stated"), std::string::npos);
  double of_log = 0, of_points = 0;
  distances(of_log, of_points);
  std::printf("Ci: %.1f off in the log, %.1f mended by 7 s\n", of_log, of_points);
  EXPECT_LT(of_points, 3);
  const Ended without = ramp("late.csv", {"--correction", "none", "--columns-late", "7"});
  EXPECT_EQ(without.code, 2) << without.err;
}

TEST_F(RecordedRamps, OtherCorrectionsSayItToo) {
  const Ended run = ramp("late.csv", {"--correction", "none"});
  ASSERT_EQ(run.code, 0) << run.err;
  EXPECT_NE(run.out.find("stand 7 s later"), std::string::npos);
  const Ended off = ramp("late.csv", {"--correction", "none", "--alignment", "off"});
  EXPECT_EQ(off.out.find("stand 7 s later"), std::string::npos);
  EXPECT_FALSE(json::parse(off.out)["ramps"][0].contains("alignment"));
}

TEST_F(RecordedRamps, AlignedColumnsAreNotAccusedAndNotCorrectedTwice) {
  write("aligned.csv", aligned());
  const Ended none = ramp("aligned.csv", {"--correction", "none"});
  ASSERT_EQ(none.code, 0) << none.err;
  const json made = json::parse(none.out);
  ASSERT_EQ(made["ramps"].size(), 6U);
  for (const json& one : made["ramps"]) {
    EXPECT_EQ(one["alignment"]["recorded_A"], "balance with storage") << one["name"];
    EXPECT_EQ(one["alignment"]["misaligned"], false);
  }
  // The path of another instrument, with a dead time of more than a second.
  const std::string empty = "up200_empty.csv";
  fs::copy_file(fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated" / empty,
                folder.path() / empty);
  const Ended twice = ramp("aligned.csv", {"--empty", empty, "--only", "curve_id=K6714L2_ramp"});
  EXPECT_EQ(twice.code, 4) << twice.err;
  EXPECT_NE(twice.err.find("aligned.csv"), std::string::npos) << twice.err;
  EXPECT_NE(twice.err.find("a lag was taken out of CO2r and CO2s before"), std::string::npos)
      << twice.err;
  EXPECT_NE(twice.err.find("alignment off"), std::string::npos) << twice.err;
}

/// up200_leaf of ramps_simulated with a recorded A made of its columns by `make`(steady balance,
/// CO2s, gain): A = u/s (R - S (1 - Wr)/(1 - Ws)), the equations of docs/methods-air.md.
template <class Make>
std::string with_A(const fs::path& log, const Make& make) {
  std::ifstream in(log);
  std::string text = "time_s,CO2r,CO2s,H2Or,H2Os,flow,Patm,Tair,Tleaf,area,A";
  for (const Row& row : rows_of(in)) {
    const auto at = [&row](const char* title) { return number(row, title); };
    const double k = at("flow") / (100 * at("area"));
    const double steady = k * (at("CO2r") - at("CO2s") * (1000 - at("H2Or")) / (1000 - at("H2Os")));
    std::string line;
    for (const char* title :
         {"time_s", "CO2r", "CO2s", "H2Or", "H2Os", "flow", "Patm", "Tair", "Tleaf", "area"}) {
      line += row.at(title) + ",";
    }
    text += "\n" + line + std::to_string(make(steady, at("CO2s"), k));
  }
  return text + "\n";
}

struct MadeA : testing::Test {
  MadeA() {
    fs::copy_file(data / "up200_empty.csv", folder.path() / "empty.csv");
    folder.write("i.toml",
                 "chamber_volume = \"40 mL\"\ninlet_volume = \"10 mL\"\n"
                 "gbw = \"3 mol m-2 s-1\"\ngbw_is = \"whole leaf\"\n");
  }
  template <class Make>
  [[nodiscard]] Ended ramp(const Make& make, const std::string& correction) const {
    folder.write("leaf.csv", with_A(data / "up200_leaf.csv", make));
    return folder.run({"ramp", "leaf.csv", "--empty", "empty.csv", "--instrument", "i.toml",
                       "--correction", correction, "--out", "p.csv", "--json", "-", "--force"});
  }
  const fs::path data = fs::path(LEAFWRIGHT_TEST_DIR) / "published/data/ramps_simulated";
  Folder folder;
};

TEST_F(MadeA, ASteadyBalanceIsNoCorrection) {
  const auto plain = [](double steady, double, double) { return steady; };
  const Ended run = ramp(plain, "forward");
  ASSERT_EQ(run.code, 0) << run.err;
  const json one = json::parse(run.out)["ramps"][0];
  EXPECT_EQ(one["alignment"]["recorded_A"], "steady balance");
  EXPECT_EQ(one["alignment"]["misaligned"], false);
  const Ended refused = ramp(plain, "recorded");
  EXPECT_EQ(refused.code, 4);
  EXPECT_NE(refused.err.find("still in it"), std::string::npos) << refused.err;
}

TEST_F(MadeA, ADifferenceOfTheCellsInAIsToldWithItsSize) {
  // 0.5 umol/mol at no CO2, 2.0 more at 1000; and a leaf area that was stated 1 % smaller.
  const auto shifted = [](double steady, double S, double k) {
    return 1.01 * (steady - k * (0.5 + 2.0 * S / 1000));
  };
  const Ended run = ramp(shifted, "forward");
  ASSERT_EQ(run.code, 0) << run.err;
  const json one = json::parse(run.out)["ramps"][0];
  EXPECT_EQ(one["alignment"]["recorded_A"], "steady balance less a difference");
  EXPECT_NE(run.out.find("The columns are used, and are corrected once"), std::string::npos);
  EXPECT_NE(run.out.find("equalised"), std::string::npos);
  EXPECT_EQ(ramp(shifted, "recorded").code, 4);
}

TEST_F(RecordedRamps, WaterIsHeldAgainstTheRecordedE) {
  // The authors give E also as the steady balance of the columns: row by row it is.
  std::vector<Row> steady = rows;
  for (Row& row : steady) row["E"] = row["E_steady_eq"];
  write("steady.csv", steady);
  const Ended same = ramp("steady.csv", {"--correction", "none"});
  ASSERT_EQ(same.code, 0) << same.err;
  const json of_same = json::parse(same.out);
  ASSERT_EQ(of_same["ramps"].size(), 6U);
  for (const json& one : of_same["ramps"]) {
    EXPECT_EQ(one["water"]["columns"], "same row");
  }
  // The recorded E is a balance with storage of signals that the columns hold later.
  const Ended late = ramp("late.csv", {"--correction", "none"});
  ASSERT_EQ(late.code, 0) << late.err;
  const json of_late = json::parse(late.out);
  ASSERT_EQ(of_late["ramps"].size(), 6U);
  for (const json& one : of_late["ramps"]) {
    EXPECT_EQ(one["water"]["columns"], "late");
    EXPECT_GT(one["water"]["late_low_s"], 0);
    EXPECT_LT(one["water"]["misfit"], one["water"]["misfit_as_is"]);
  }
}

}  // namespace
}  // namespace leafwright::cli_test
