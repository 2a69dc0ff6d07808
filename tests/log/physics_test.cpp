// Proof by recomputation on the open data of Braun et al. 2024 (tests/published/data/paired), and
// that what is wrong is not called proved.
#include "log/physics.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <memory>
#include <sstream>
#include <stdexcept>
#include <string>

#include "log/look.hpp"

namespace leafwright {
namespace {

std::string bytes_of_paired() {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/paired/points.csv",
                     std::ios::binary);
  std::stringstream out;
  out << file.rdbuf();
  return out.str();
}

/// The data with A and E as the authors' steady equations give them, and other titles on demand.
Log paired(const std::string& A, const std::string& E, const std::string& area = "area",
           bool swapped = false) {
  auto table = read_table(bytes_of_paired(), "points.csv");
  if (!table) throw std::runtime_error(table.error().text());
  ColumnMap map;
  map.columns.push_back({"A", A, "", {}});
  map.columns.push_back({"E", E, "", {}});
  if (area != "area") map.constants.push_back({"area", 12, {}});
  if (swapped) {
    map.columns.push_back({"CO2r", "CO2s", "", {}});
    map.columns.push_back({"CO2s", "CO2r", "", {}});
  }
  auto log = read_log(std::make_shared<const Table>(std::move(*table)), map);
  if (!log) throw std::runtime_error(log.error().text());
  return std::move(*log);
}

TEST(Physics, SteadyEquationsAgree) {
  const Proof proof = prove(paired("A_steady_eq", "E_steady_eq"));
  EXPECT_TRUE(proof.proved);
  // The columns are printed to ten digits, the mole fractions they are made of to seven or more.
  EXPECT_LT(proof.line("A").median_difference.value_or(1), 1e-4);
  EXPECT_LT(proof.line("E").median_difference.value_or(1), 1e-4);
  EXPECT_GT(proof.line("A").n, 2000U);
  EXPECT_TRUE(proof.areas.empty());
}

TEST(Physics, SwappedStreamsAreNotProved) {
  const Proof proof = prove(paired("A_steady_eq", "E_steady_eq", "area", true));
  EXPECT_FALSE(proof.proved);
  EXPECT_EQ(proof.line("A").agrees, false);
}

TEST(Physics, AnotherAreaIsNotProvedAndTheOneThatFitsIsTold) {
  const Proof proof = prove(paired("A_steady_eq", "E_steady_eq", "12 cm2"));
  EXPECT_FALSE(proof.proved);
  ASSERT_FALSE(proof.areas.empty());
  EXPECT_NEAR(proof.areas.front().recorded, 12, 1e-12);
  EXPECT_NEAR(proof.areas.front().fits, 6, 0.006);  // the data's own area
}

TEST(Physics, DryMoleFractionsUnderMoistNamesAreNotProved) {
  const std::string text = bytes_of_paired();
  const auto table = read_table(text, "points.csv");
  ASSERT_TRUE(table.has_value());
  ColumnMap map;
  map.columns.push_back({"A", "A_steady_eq", "", {}});
  map.columns.push_back({"CO2r", "CO2r_dry", "", {}});
  map.columns.push_back({"CO2s", "CO2s_dry", "", {}});
  EXPECT_FALSE(look(*table, map).proved);
}

TEST(Physics, NothingToCompareIsSaid) {
  auto table = read_table("A,Ci\n1,2\n2,3\n", "p.csv");
  ASSERT_TRUE(table.has_value());
  const auto log = read_log(std::make_shared<const Table>(std::move(*table)));
  ASSERT_TRUE(log.has_value());
  const Proof proof = prove(*log);
  EXPECT_FALSE(proof.proved);
  EXPECT_FALSE(proof.line("A").agrees.has_value());
  EXPECT_NE(proof.line("A").lacking.find("flow"), std::string::npos);
}

}  // namespace
}  // namespace leafwright
