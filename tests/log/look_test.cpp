#include "log/look.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "base/number.hpp"

namespace leafwright {
namespace {

LookReport looked(const std::string& bytes) {
  auto table = read_table(bytes, "log.csv");
  if (!table) throw std::runtime_error(table.error().text());
  return look(*table);
}

std::string findings(const LookReport& report) {
  std::string out;
  for (const Finding& finding : report.findings) out += finding.about + ": " + finding.text + "\n";
  return out;
}

TEST(Look, SaysWhatEachColumnIsAndWhy) {
  const LookReport report = looked(
      "date,time,A,Ci (Pa),Patm,net flux,remark,void,ph\n"
      ",,mmol m-2 s-1,,kPa,umol m-2 s-1,,,\n"
      "2024-05-01,10:00:00,0.01,25,98.5,1,ok,,7\n"
      "2024-05-01,10:00:05,0.02,26,98.6,2,,,7\n");
  std::string out;
  for (const LookColumn& c : report.columns) {
    out += c.title + "|" + c.unit + "|" + c.symbol + "|" + column_kind_name(c.kind) + "|" +
           std::to_string(c.n) + "|" + std::to_string(c.missing) + "|" + print_number(c.low) + "|" +
           print_number(c.high) + "|" + c.evidence + "\n";
  }
  EXPECT_EQ(out,
            "date||date|time|2|0|||title is the name of the open reporting format\n"
            "time||time|time|2|0|||title is the name of the open reporting format\n"
            "A|mmol m-2 s-1|A|number|2|0|10|20|title is the name of the open reporting format; "
            "unit from the units row, line 2\n"
            "Ci (Pa)|Pa|Ci|number|2|0|25|26|title is the name of the open reporting format; unit "
            "from the title, which does not suit it\n"
            "Patm|kPa|Patm|number|2|0|98.5|98.6|title is the name of the open reporting format; "
            "unit from the units row, line 2\n"
            "net flux|umol m-2 s-1||number|2|0|1|2|not a name of the open reporting format; unit "
            "from the units row, line 2: flux per area\n"
            "remark||remark|text|1|1|||title is the name of Leafwright's own formats\n"
            "void|||empty|0|2|||not a name of the open reporting format\n"
            "ph|||number|2|0|7|7|not a name of the open reporting format\n");
  EXPECT_FALSE(report.proved);
  ASSERT_FALSE(report.notes.empty());
  EXPECT_EQ(report.notes.back().about, "not-proved");
  ASSERT_EQ(report.problems.size(), 1U);
  EXPECT_EQ(report.problems[0].place.line, 1U);
  EXPECT_EQ(report.problems[0].place.column, 13U);
}

TEST(Look, NearNamesAreSuggested) {
  EXPECT_EQ(looked("ci,A\n50,1\n60,2\n").columns[0].evidence,
            "not a name of the open reporting format; did you mean 'Ci'?");
}

TEST(Look, SuspiciousValuesAreCountedWithTheirPlaces) {
  const LookReport report = looked(
      "A,Ci,Patm,Tleaf,E\n1,50,1013,25,x\n-9999,-3,1013,25,2\n3,70,1012,25,3\n4,80,1013,25,4\n");
  EXPECT_EQ(findings(report),
            "sentinel: column 'A': 1 cell with a number that often stands for missing, such as "
            "-9999 (first: log.csv:3); nothing is changed: empty them if that is what they mean\n"
            "negative-ci: column 'Ci': 1 cell below zero (first: log.csv:3); such rows cannot be "
            "fitted\n"
            "implausible: column 'Patm': 4 cells outside 50 to 110 kPa, such as 1013 (first: "
            "log.csv:2); is the unit right?\n"
            "constant: column 'Tleaf' is 25 in every row, though it should vary: was it measured?\n"
            "not-a-number: column 'E': 1 cell with text in a column of numbers (first: "
            "log.csv:2); such rows are left out where the column is needed\n");
  EXPECT_EQ(report.findings[2].first.size(), 3U);
}

TEST(Look, GapsAndStepsBackwards) {
  EXPECT_EQ(findings(looked("time_s,x\n0,1\n1,2\n2,3\n3,4\n20,5\n21,6\n5,7\n6,8\n")),
            "gap: column 'time_s': 1 gap of more than three times the usual step of 1, the longest "
            "17 (first: before log.csv:6)\n"
            "time-backwards: column 'time_s' steps backwards 1 time (first: log.csv:8): several "
            "logs in one file, or a clock that was set?\n");
}

TEST(Look, RowsThatRepeat) {
  EXPECT_EQ(findings(looked("record,A,Ci\n1,1.5,50\n2,1.5,50\n3,2,60\n4,2.0,60\n")),
            "repeat: 1 row repeats the row before in all 2 measured columns (first: log.csv:3): "
            "logged twice, they count twice in a fit\n");
}

TEST(Look, CurvesInPieces) {
  EXPECT_EQ(findings(looked("curve_id,x\na,1\nb,2\na,3\n,4\n")),
            "curve-in-pieces: curve 'a' comes back at log.csv:4 after other curves: is the name "
            "used twice?\n"
            "rows-without-curve: 1 row without a curve_id (first: log.csv:5)\n");
}

// Braun et al. 2024 (doi 10.1093/treephys/tpae153): extremes of two columns, read here by hand
// apart from the program's own reader (no cell of that file is quoted).
TEST(Look, GivesTheRangesOfPublishedRamps) {
  std::ifstream file(LEAFWRIGHT_SOURCE_DIR "/tests/published/data/paired/points.csv",
                     std::ios::binary);
  std::stringstream bytes;
  bytes << file.rdbuf();
  ASSERT_FALSE(bytes.str().empty());
  const LookReport report = looked(bytes.str());
  std::istringstream lines(bytes.str());
  std::string line;
  std::getline(lines, line);
  std::size_t rows = 0;
  double low[2] = {1e9, 1e9}, high[2] = {-1e9, -1e9};
  for (; std::getline(lines, line); ++rows) {
    std::istringstream fields(line);
    std::string cell;
    for (int i = 0; i < 12; ++i) {
      std::getline(fields, cell, ',');
      if (i < 10 || cell.empty()) continue;  // A is the 11th column, Ci the 12th
      low[i - 10] = std::min(low[i - 10], std::stod(cell));
      high[i - 10] = std::max(high[i - 10], std::stod(cell));
    }
  }
  EXPECT_EQ(report.rows, rows);
  for (std::size_t i : {0U, 1U}) {
    const LookColumn& column = report.columns[10 + i];
    EXPECT_EQ(column.symbol, i == 0 ? "A" : "Ci");
    EXPECT_EQ(column.low, low[i]);
    EXPECT_EQ(column.high, high[i]);
  }
  EXPECT_TRUE(report.problems.empty());
}

}  // namespace
}  // namespace leafwright
