#include "report/look_report.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "table/table.hpp"

namespace leafwright {
namespace {

LookReport small_log() {
  auto table = read_table(
      "curve_id,A,Ci,note\n,umol m-2 s-1,umol mol-1,\na,1.5,60,x\na,8.25,150,\na,12,-9999,\n",
      "leaf.csv");
  EXPECT_TRUE(table) << (table ? "" : table.error().text());
  return look(*table);
}

TEST(LookJson, HasTheKeysThatCallersRelyOn) {
  const LookReport log = small_log();
  const auto all = nlohmann::json::parse(look_json({&log, 1}));
  EXPECT_EQ(all["schema"], 1);
  EXPECT_EQ(all["command"], "look");
  EXPECT_EQ(all["proved"], false);
  EXPECT_TRUE(all["problems"].is_array());
  ASSERT_EQ(all["columns"].size(), 4U);
  EXPECT_EQ(all["columns"][1]["title"], "A");
  EXPECT_EQ(all["columns"][1]["unit"], "umol m-2 s-1");
  EXPECT_EQ(all["columns"][1]["symbol"], "A");
  EXPECT_TRUE(all["columns"][3]["unit"].is_null());
  EXPECT_NE(all["columns"][1]["evidence"], "");
  for (const char* symbol : {"A", "E", "gsw", "Ci"}) {
    EXPECT_TRUE(all["proof"][symbol]["agrees"].is_null()) << symbol;
    EXPECT_EQ(all["proof"][symbol]["n"], 0) << symbol;
  }
}

TEST(LookJson, SeveralLogsStandInAList) {
  const std::vector<LookReport> logs = {small_log(), small_log()};
  const auto all = nlohmann::json::parse(look_json(logs));
  ASSERT_EQ(all["logs"].size(), 2U);
  EXPECT_EQ(all["logs"][1]["rows"], 3);
}

TEST(LookText, ShowsLayoutColumnsAndWhetherAFitCanFollow) {
  const std::string text = look_text(small_log());
  EXPECT_EQ(text.find("leaf.csv: 3 rows, 4 columns; UTF-8, LF line ends"), 0U) << text;
  EXPECT_NE(text.find("nothing is proved"), std::string::npos) << text;
  EXPECT_EQ(text.find("nan"), std::string::npos) << text;
  EXPECT_TRUE(
      text.ends_with("\nnot ready for 'leafwright fit': no column Tleaf (or --tleaf "
                     "VALUE), no column Patm (or --patm VALUE)\n"))
      << text;
}

TEST(LookText, AnAssumedUnitStandsInBrackets) {
  auto table = read_table("A,Ci,Tleaf,Patm\n1.5,60,25,101\n8,150,25,101\n", "leaf.csv");
  ASSERT_TRUE(table);
  const std::string text = look_text(look(*table));
  EXPECT_NE(text.find("(umol m-2 s-1)"), std::string::npos) << text;
  EXPECT_NE(text.find("\nready for 'leafwright fit'"), std::string::npos) << text;
}

}  // namespace
}  // namespace leafwright
