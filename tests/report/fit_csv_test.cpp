#include "report/fit_csv.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "report/documents.hpp"

namespace leafwright {
namespace {

using Record = std::map<std::string, std::string>;

/// RFC 4180, read back without the project's own reader.
std::vector<std::vector<std::string>> cells_of(const std::string& csv) {
  std::vector<std::vector<std::string>> rows(1, {""});
  bool quoted = false;
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const char c = csv[i];
    if (c == '"' && quoted && i + 1 < csv.size() && csv[i + 1] == '"') {
      rows.back().back() += csv[++i];
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      rows.back().emplace_back();
    } else if (c == '\n' && !quoted) {
      rows.push_back({""});
    } else {
      rows.back().back() += c;
    }
  }
  rows.pop_back();
  return rows;
}

std::vector<Record> records() {
  fixtures::Documents campaign;
  const auto rows = cells_of(fit_csv(campaign.document()));
  std::vector<Record> out;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    EXPECT_EQ(rows[i].size(), rows[0].size()) << "row " << i;
    Record record;
    for (std::size_t c = 0; c < rows[i].size(); ++c) record[rows[0].at(c)] = rows[i][c];
    out.push_back(record);
  }
  return out;
}

TEST(FitCsv, HasOneRowACurveInOrderFailedOnesToo) {
  const auto all = records();
  ASSERT_EQ(all.size(), 5U);
  EXPECT_EQ(all[0].at("curve_id"), "plot 3, leaf 12");
  EXPECT_EQ(all[0].at("Vcmax"), "61.2");
  EXPECT_EQ(all[0].at("Vcmax_low_widened"), "57.7");
  EXPECT_EQ(all[0].at("Vcmax25"), "61.2");
  EXPECT_EQ(all[0].at("J25"), "");
  EXPECT_EQ(all[0].at("limited_by"), "rubisco rubp tpu");
  EXPECT_EQ(all[3].at("curve_id"), "a, \"b\"");
  EXPECT_EQ(all[3].at("failed"), "only 1 distinct Ci; 4 are needed");
  EXPECT_EQ(all[3].at("Vcmax"), "");
  EXPECT_EQ(all[4].at("curve_id"), "leaf 9");
}

TEST(FitCsv, WhatIsNotKnownIsAnEmptyCell) {
  const auto all = records();
  EXPECT_EQ(all[1].at("TPU"), "");
  EXPECT_EQ(all[1].at("TPU_low"), "7.9");
  EXPECT_EQ(all[1].at("TPU_high"), "");
  EXPECT_EQ(all[1].at("TPU_status"), "lower bound");
  EXPECT_EQ(all[2].at("J_status"), "not identified");
  EXPECT_EQ(all[2].at("certified"), "false");
  EXPECT_EQ(all[2].at("notes"), "j-not-identified");
}

TEST(FitCsv, NoTwoColumnsHaveOneName) {
  std::set<std::string> names;
  for (const CsvColumn& column : fit_csv_columns()) {
    EXPECT_TRUE(names.insert(column.name).second) << column.name;
  }
}

}  // namespace
}  // namespace leafwright
