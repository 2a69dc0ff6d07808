// Points of a file without curve_id, and their screening.
#include <gtest/gtest.h>

#include "log/logs.hpp"
#include "log/points.hpp"

namespace leafwright {
namespace {

using testing_logs::has_note;

Table table(const std::string& bytes) {
  auto out = read_table(bytes, "day1.csv");
  if (!out) throw std::runtime_error(out.error().text());
  return std::move(*out);
}

TEST(PointsCut, APauseBeginsANewCurve) {
  const Table log =
      table("elapsed_s,A,Ci,Tleaf,Patm\n0,1,50,25,100\n120,2,60,25,100\n1800,3,70,25,100\n");
  const auto points = cut_points(log);
  ASSERT_TRUE(points) << points.error().text();
  ASSERT_EQ(points->curves.size(), 2U);
  EXPECT_EQ(points->curves[0].curve_id, "day1-1");
  EXPECT_EQ(points->curves[1].rows.size(), 1U);
  EXPECT_TRUE(has_note(points->notes, "curves-from-file", "900 s"));
  PointsOptions whole;
  whole.cut.by = CutBy::file;
  EXPECT_EQ(cut_points(log, whole)->curves.size(), 1U);
}

TEST(PointsCut, AMistypedIdIsCorrectedByADecision) {
  PointsOptions options;
  options.cut.renames = {"l=1"};
  const auto points = cut_points(
      table("curve_id,A,Ci,Tleaf,Patm\n1,1,50,25,100\nl,2,60,25,100\n2,3,70,25,100\n"), options);
  ASSERT_TRUE(points);
  ASSERT_EQ(points->curves.size(), 2U);
  EXPECT_EQ(points->curves[0].rows.size(), 2U);
  EXPECT_TRUE(has_note(points->notes, "curve-renamed"));
}

TEST(PointsCut, ARawLogIsToldWhatMakesPointsOfIt) {
  const auto points = cut_points(table("curve_id,CO2r,CO2s,Tleaf,Patm\na,400,390,25,100\n"));
  ASSERT_FALSE(points);
  EXPECT_NE(points.error().text().find("leafwright flux"), std::string::npos);
}

TEST(PointsScreen, RepeatsAreLeftOutOnlyWhereDigitsProveIt) {
  const std::string text =
      "curve_id,A,Ci,Tleaf,Patm\na,1.2345,50.1,25,100\na,1.2345,50.1,25,100\na,2,60,25,100\n"
      "a,2,60,25,100\na,3,-5,25,100\n";
  PointsOptions options;
  options.screen = ScreenChoice{};
  const auto points = cut_points(table(text), options);
  ASSERT_TRUE(points);
  const auto& rows = points->curves[0].rows;
  EXPECT_TRUE(rows[0].use);
  EXPECT_FALSE(rows[1].use);
  EXPECT_EQ(rows[1].why.substr(0, 8), "repeated");
  EXPECT_TRUE(rows[3].use) << "round numbers may agree by chance";
  EXPECT_FALSE(rows[4].use);
  const auto plain = cut_points(table(text));
  EXPECT_TRUE(plain->curves[0].rows[1].use);
}

TEST(PointsScreen, AnOutlierIsNotedAndUsed) {
  std::string text = "curve_id,A,Ci,Tleaf,Patm\n";
  const double A[] = {-1, 5, 10, 4, 17, 19, 20, 20.5};
  const double Ci[] = {40, 100, 200, 300, 450, 700, 1000, 1300};
  for (int i = 0; i < 8; ++i) {
    text += "a," + std::to_string(A[i]) + "," + std::to_string(Ci[i]) + ",25,100\n";
  }
  PointsOptions options;
  options.screen = ScreenChoice{};
  const auto points = cut_points(table(text), options);
  EXPECT_TRUE(points->curves[0].rows[3].use);
  EXPECT_TRUE(has_note(points->curves[0].notes, "screen-outlier", "day1.csv:5: A = 4"));
}

}  // namespace
}  // namespace leafwright
