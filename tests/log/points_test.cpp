#include "log/points.hpp"

#include <gtest/gtest.h>

#include "base/number.hpp"

namespace leafwright {
namespace {

Table table(const std::string& bytes, const std::string& file = "data/points.csv") {
  auto out = read_table(bytes, file);
  if (!out) throw std::runtime_error(out.error().text());
  return std::move(*out);
}

// Curves as text: "id: A/Ci/Tleaf/Patm ..." with "-why" for rows not used, then failed curves.
std::string shown(const Result<Points>& points) {
  if (!points) return points.error().text();
  std::string out;
  for (const Curve& curve : points->curves) {
    out += curve.curve_id + ":";
    for (const CurveRow& row : curve.rows) {
      if (!row.use) {
        out += " -(" + row.why + ")";
        continue;
      }
      out += " " + print_number(row.A) + "/" + print_number(row.Ci) + "/" +
             print_number(row.Tleaf) + "/" + print_number(row.Patm);
      if (row.Qin) out += "/Q" + print_number(*row.Qin);
      if (row.rday) out += "/R" + print_number(*row.rday);
    }
    out += "\n";
  }
  for (const UnreadCurve& failed : points->failed) {
    out += "failed " + failed.curve_id + ": " + failed.why + "\n";
  }
  return out;
}

std::string notes(const Points& points) {
  std::string out;
  for (const Note& note : points.notes) out += note.text + "\n";
  return out;
}

const std::string head = "curve_id,A,Ci,Tleaf,Patm\n";

TEST(Points, CutsByCurveIdInOrderOfAppearance) {
  const auto points = cut_points(table(head + "b,1,50,25,100\nb,2,100,25,100\na,3,200,26,101\n"));
  EXPECT_EQ(shown(points), "b: 1/50/25/100 2/100/25/100\na: 3/200/26/101\n");
  EXPECT_EQ(points->curves[0].rows[1].row, 1U);
  EXPECT_EQ(points->curves[0].rows[1].place.line, 3U);
  EXPECT_EQ(points->curves[0].rows[1].place.file, "data/points.csv");
}

TEST(Points, UnitsAreConvertedFromUnitsRowOrTitle) {
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Tleaf,Patm,Qin\n"
                                   ",mmol m-2 s-1,mmol mol-1,K,hPa,mmol m-2 s-1\n"
                                   "a,0.02,0.25,298.15,1013.25,1.5\n"))),
            "a: 20/250/25/101.325/Q1500\n");
  EXPECT_EQ(shown(cut_points(table("curve_id,A (µmol m⁻² s⁻¹),Ci [ppm],Tleaf (°C),Patm (Pa)\n"
                                   "a,20,250,25,101325\n"))),
            "a: 20/250/25/101.325\n");
}

TEST(Points, AssumedUnitsAreSaidOnce) {
  const auto points = cut_points(table(head + "a,1,50,25,100\n"));
  EXPECT_EQ(notes(*points),
            "no unit is stated; those of the open reporting format were assumed: A in umol m-2 "
            "s-1, Ci in umol mol-1, Tleaf in degC, Patm in kPa\n");
}

TEST(Points, WithoutCurveIdTheFileOrItsBlocksAreCurves) {
  const auto whole = cut_points(table("A,Ci,Tleaf,Patm\n1,50,25,100\n", "d/leaf 7.csv"));
  EXPECT_EQ(shown(whole), "leaf 7: 1/50/25/100\n");
  EXPECT_NE(notes(*whole).find("no column 'curve_id': the whole file is one curve, named after the "
                               "file\n"),
            std::string::npos);
  const auto blocks = cut_points(
      table("A,Ci,Tleaf,Patm\n1,50,25,100\n2,60,25,100\nA,Ci,Tleaf,Patm\n3,70,25,100\n", "x.csv"));
  EXPECT_EQ(shown(blocks), "x-1: 1/50/25/100 2/60/25/100\nx-2: 3/70/25/100\n");
}

TEST(Points, AValueGivenForAllRowsStandsAboveTheColumn) {
  PointsOptions options;
  options.tleaf = 30;
  options.patm = 99.5;
  const auto points = cut_points(table("curve_id,A,Ci,Tleaf\na,1,50,25\na,2,60,26\n"), options);
  EXPECT_EQ(shown(points), "a: 1/50/30/99.5 2/60/30/99.5\n");
  EXPECT_NE(notes(*points).find("Tleaf = 30 degC was given for all rows; the file's own column (25 "
                                "to 26) is not used\nPatm = 99.5 kPa was given for all rows\n"),
            std::string::npos)
      << notes(*points);
}

TEST(Points, UseIsHonoured) {
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Tleaf,Patm,use,why\n"
                                   "a,1,50,25,100,1,\na,2,60,25,100,0,leak\n"
                                   "a,3,70,25,100,TRUE,\na,4,80,25,100,false,\n"))),
            "a: 1/50/25/100 -(leak) 3/70/25/100 -(use is 0 in the file)\n");
}

TEST(Points, CellsThatCannotBeReadTakeOnlyTheirRow) {
  const auto points =
      cut_points(table(head + "a,x,50,25,100\na,2,,25,100\na,3,70,25,100\na,4,80,25,1e999\n"));
  EXPECT_EQ(shown(points),
            "a: -('x' is not a number (column 'A') at data/points.csv:2:3) -(Ci is missing) "
            "3/70/25/100 -('1e999' is beyond the range of numbers (column 'Patm') at "
            "data/points.csv:5:11)\n");
  ASSERT_EQ(points->problems.size(), 2U);
  EXPECT_EQ(points->problems[0].text(),
            "data/points.csv:2:3: 'x' is not a number (column 'A'); a number or an empty cell; "
            "correct or empty the cell\n  a,x,50,25,100\n    ^");
  ASSERT_EQ(points->curves[0].notes.size(), 1U);
  EXPECT_EQ(points->curves[0].notes[0].text,
            "3 of 4 rows not used; the first, data/points.csv:2: 'x' is not a number (column 'A') "
            "at data/points.csv:2:3");
}

TEST(Points, NonPositiveCiIsForTheFitToJudge) {
  const auto points = cut_points(table(head + "a,1,-5,25,100\na,2,0,25,100\n"));
  EXPECT_EQ(shown(points), "a: 1/-5/25/100 2/0/25/100\n");
}

TEST(Points, OnlyChoosesRows) {
  const Table all = table(
      "curve_id,A,Ci,Tleaf,Patm,leaf,qc\n"
      "a,1,50,25,100,1,OK\na,2,60,25,100,2.0,OK\nb,3,70,25,100,2,bad\n");
  PointsOptions options;
  options.only = {"leaf=2"};
  EXPECT_EQ(shown(cut_points(all, options)), "a: 2/60/25/100\nb: 3/70/25/100\n");
  options.only = {"leaf=2", "qc=OK"};
  EXPECT_EQ(shown(cut_points(all, options)), "a: 2/60/25/100\n");
  options.only = {"leaf=1", "leaf=2", "qc=OK"};
  EXPECT_EQ(shown(cut_points(all, options)), "a: 1/50/25/100 2/60/25/100\n");
  options.only = {"qc=ok"};
  EXPECT_EQ(shown(cut_points(all, options)),
            "no row of data/points.csv has qc = 'ok'; a value of the column: OK, bad");
  options.only = {"leef=1"};
  EXPECT_EQ(shown(cut_points(all, options)),
            "data/points.csv:1: no column 'leef' to choose rows by ('leef=1'); if 'leaf' is meant, "
            "rename it");
  options.only = {"leaf"};
  EXPECT_EQ(shown(cut_points(all, options)),
            "'leaf' does not choose rows; COLUMN=VALUE, as in curve_id=leaf1");
  options.only = {"leaf=1", "qc=bad"};
  EXPECT_EQ(shown(cut_points(all, options)),
            "no row of data/points.csv has all of leaf=1, qc=bad; values that are there together");
}

TEST(Points, AnotherColumnMayNameTheCurves) {
  PointsOptions options;
  options.curve_column = "leaf";
  EXPECT_EQ(shown(cut_points(table("leaf,A,Ci,Tleaf,Patm\nx,1,50,25,100\n"), options)),
            "x: 1/50/25/100\n");
  options.curve_column = "Leaf";
  const auto missing = cut_points(table("leaf,A,Ci,Tleaf,Patm\nx,1,50,25,100\n"), options);
  EXPECT_EQ(missing.error().code, ErrorCode::usage);
  EXPECT_EQ(shown(missing),
            "data/points.csv:1: no column 'Leaf'; the column that names the curves; there is "
            "'leaf': names are case-sensitive, rename it");
}

TEST(Points, RdayIsOneValuePerCurve) {
  PointsOptions options;
  options.rday_column = "Rdark";
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Tleaf,Patm,Rdark,use\n"
                                   "a,1,50,25,100,0.9,1\na,2,60,25,100,0.9,1\n"
                                   "b,1,50,25,100,0.9,1\nb,2,60,25,100,1.1,1\n"
                                   "c,1,50,25,100,,1\nd,1,50,25,100,1,1\nd,1,50,25,100,,0\n"
                                   "e,1,50,25,100,x,1\n"),
                             options)),
            "a: 1/50/25/100/R0.9 2/60/25/100/R0.9\n"
            "d: 1/50/25/100/R1 -(use is 0 in the file)\n"
            "failed b: column 'Rdark' is not constant within the curve: 0.9 at data/points.csv:4, "
            "1.1 at data/points.csv:5; one value for the whole curve\n"
            "failed c: column 'Rdark' is empty at data/points.csv:6; one value for the whole "
            "curve\n"
            "failed e: data/points.csv:9:15: 'x' is not a number (column 'Rdark'); a number or an "
            "empty cell; correct or empty the cell\n");
  options.rday_column = "Rd";
  const auto missing = cut_points(table(head + "a,1,50,25,100\n"), options);
  EXPECT_EQ(missing.error().code, ErrorCode::usage);
  EXPECT_EQ(shown(missing),
            "data/points.csv:1: no column 'Rd'; the column named for Rday; the file has curve_id, "
            "A, Ci, Tleaf, Patm");
}

TEST(PointsErrors, NeededColumns) {
  EXPECT_EQ(shown(cut_points(table("curve_id,A,ci,Tleaf,Patm\na,1,50,25,100\n"))),
            "data/points.csv:1: no column 'Ci'; one with this name of the open reporting format, "
            "in umol mol-1; there is 'ci': names are case-sensitive, rename it");
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Tlef,Patm\na,1,50,25,100\n"))),
            "data/points.csv:1: no column 'Tleaf'; one with this name of the open reporting "
            "format, in degC; if 'Tlef' is meant, rename it; or give one value for all rows with "
            "--tleaf");
  EXPECT_EQ(shown(cut_points(table("id,net,Ci,Tleaf,Patm\na,1,50,25,100\n"))),
            "data/points.csv:1: no column 'A'; one with this name of the open reporting format, in "
            "umol m-2 s-1; the file has id, net, Ci, Tleaf, Patm");
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Ci,Tleaf,Patm\na,1,50,51,25,100\n"))),
            "data/points.csv:1: column 'Ci' is there twice (columns 3 and 4); one; rename or "
            "remove one of them");
}

TEST(PointsErrors, UnitsOfAnotherDimension) {
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci (Pa),Tleaf,Patm\na,1,50,25,100\n"))),
            "data/points.csv:1:12: column 'Ci': 'Pa' is a unit of pressure; a unit of amount "
            "fraction, such as 'umol mol-1'; an amount fraction and a partial pressure differ by "
            "the air pressure: convert with the pressure of each record first\n"
            "  curve_id,A,Ci (Pa),Tleaf,Patm\n             ^");
  EXPECT_EQ(
      shown(cut_points(table("A,Ci,Tleaf,Patm\numol m-2 s-1,umol mol-1,C,kPa\n1,50,25,100\n"))),
      "data/points.csv:2:25: column 'Tleaf': unit 'C' is not known; a unit such as umol m-2 "
      "s-1, mmol m-2 s-1, umol mol-1, mmol mol-1, kPa, degC, cm2, umol s-1, s; write 'degC' "
      "if degrees Celsius are meant\n  umol m-2 s-1,umol mol-1,C,kPa\n"
      "                          ^");
}

TEST(PointsErrors, AMarkThatCannotBeReadFailsItsCurve) {
  EXPECT_EQ(shown(cut_points(table("curve_id,A,Ci,Tleaf,Patm,use\n"
                                   "a,1,50,25,100,maybe\na,2,60,25,100,1\n"
                                   "b,1,50,25,100,1\nc,1,50,25,100,\n"))),
            "b: 1/50/25/100\n"
            "failed a: data/points.csv:2:15: 'maybe' in column 'use'; 1, 0, true or false; mark "
            "the row, or remove the column to use all rows\n"
            "failed c: data/points.csv:5:15: column 'use' is empty in this row; 1, 0, true or "
            "false; mark the row, or remove the column to use all rows\n");
}

TEST(PointsErrors, CurvesWithoutARowFail) {
  EXPECT_EQ(shown(cut_points(table(head + "a,x,50,25,100\na,,60,25,100\nb,1,50,25,100\n"))),
            "b: 1/50/25/100\n"
            "failed a: none of its 2 rows can be used; the first, data/points.csv:2: 'x' is not a "
            "number (column 'A') at data/points.csv:2:3\n");
}

TEST(PointsErrors, RowsWithShiftedOrCutCellsAreNotUsed) {
  EXPECT_EQ(shown(cut_points(table(head + "a,1,50,25,100\na,2,60,25,100,7\na,3,70,25,10"))),
            "a: 1/50/25/100 -(6 cells where the header has 5 titles) 3/70/25/10\n");
  EXPECT_EQ(shown(cut_points(table(head + "a,1,50,25,100\na,2,60,25,100\na,3,70,2"))),
            "a: 1/50/25/100 2/60/25/100 -(the file was cut inside this line)\n");
}

TEST(PointsErrors, ACurveInPiecesAndRowsWithoutACurveAreNoted) {
  const auto points = cut_points(
      table(head + "a,1,50,25,100\nb,2,60,25,100\na,3,70,25,100\n,4,80,25,100\n,5,90,25,100\n"));
  EXPECT_EQ(shown(points), "a: 1/50/25/100 3/70/25/100\nb: 2/60/25/100\n");
  ASSERT_EQ(points->curves[0].notes.size(), 1U);
  EXPECT_EQ(points->curves[0].notes[0].text,
            "its rows stand in separate stretches of the file (again at data/points.csv:4); they "
            "were put together: is the name used twice?");
  ASSERT_EQ(points->problems.size(), 1U);
  EXPECT_EQ(points->problems[0].text(),
            "data/points.csv:5:1: no curve_id in this row; the name of its curve; rows without one "
            "belong to no curve\n  ,4,80,25,100\n  ^");
  EXPECT_NE(notes(*points).find("2 rows have no curve_id and belong to no curve\n"),
            std::string::npos);
}

TEST(PointsErrors, ImplausibleValuesAreFlaggedAndUsed) {
  const auto points = cut_points(table(head + "a,-9999,50,25,1013\na,2,60,25,1013\n"));
  EXPECT_EQ(shown(points), "a: -9999/50/25/1013 2/60/25/1013\n");
  ASSERT_EQ(points->curves[0].notes.size(), 2U);
  EXPECT_EQ(points->curves[0].notes[0].text,
            "A is outside -20 to 90 umol m-2 s-1 in 1 row (first: -9999 at data/points.csv:2); "
            "used as it stands: check the unit, or mark the rows with use = 0");
  EXPECT_EQ(points->curves[0].notes[1].text,
            "Patm is outside 50 to 110 kPa in 2 rows (first: 1013 at data/points.csv:2); used as "
            "it stands: check the unit, or mark the rows with use = 0");
}

TEST(PointsErrors, ManyBadCellsAreCountedNotListed) {
  std::string bytes = head + "b,1,50,25,100\n";
  for (int i = 0; i < 30; ++i) bytes += "a,x,50,25,100\n";
  const auto points = cut_points(table(bytes));
  EXPECT_EQ(points->problems.size(), 20U);
  EXPECT_NE(notes(*points).find("10 further cells could not be read\n"), std::string::npos);
}

TEST(PointsSettings, MakeOptions) {
  Settings settings(points_settings());
  EXPECT_FALSE(points_options(settings).curve_column);
  ASSERT_TRUE(settings.set("curve", "leaf", SettingOrigin::option));
  ASSERT_TRUE(settings.set("only", "x=1", SettingOrigin::option));
  ASSERT_TRUE(settings.set("tleaf", "25.5", SettingOrigin::option));
  const PointsOptions options = points_options(settings, "Rdark");
  EXPECT_EQ(options.curve_column, "leaf");
  EXPECT_EQ(options.only, (std::vector<std::string>{"x=1"}));
  EXPECT_EQ(options.tleaf, 25.5);
  EXPECT_FALSE(options.patm);
  EXPECT_EQ(options.rday_column, "Rdark");
}

}  // namespace
}  // namespace leafwright
