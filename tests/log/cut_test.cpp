#include "log/cut.hpp"

#include <gtest/gtest.h>

#include "log/logs.hpp"

namespace leafwright {
namespace {

using testing_logs::has_note;
using testing_logs::log_of;
using testing_logs::samples_of;

Result<Cut> cut_of(const Log& log, const CutChoice& choice = {}, const Samples* samples = nullptr) {
  const auto axis = time_axis(log);
  if (!axis) return fail(axis.error());
  return cut_log(log, *axis, samples, choice);
}

/// "a: 0 1; b: 2", the rows of each curve.
std::string told(const Result<Cut>& cut) {
  if (!cut) return cut.error().text();
  std::string out;
  for (const CutCurve& curve : cut->curves) {
    out += (out.empty() ? "" : "; ") + curve.curve_id + ":";
    for (const std::size_t row : curve.rows) out += " " + std::to_string(row);
  }
  return out;
}

TEST(Cut, ByItsColumn) {
  const Log log = log_of("curve_id,A\na,1\na,2\nb,3\n,4\na,5\n");
  const auto cut = cut_of(log);
  EXPECT_EQ(told(cut), "a: 0 1 4; b: 2");
  EXPECT_EQ(cut->curve_of[3], Cut::no_curve);
  EXPECT_TRUE(has_note(cut->notes, "rows-without-curve", "day1.csv:5"));
  EXPECT_TRUE(has_note(cut->curves[0].notes, "curve-in-pieces", "day1.csv:6"));
  EXPECT_TRUE(cut->curves[1].notes.empty());
}

TEST(Cut, ByAnotherColumn) {
  const Log log = log_of("leaf,A\na,1\nb,2\n");
  EXPECT_EQ(told(cut_of(log, {.column = "leaf"})), "a: 0; b: 1");
  const auto none = cut_of(log, {.column = "leef"});
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, ErrorCode::usage);
  EXPECT_NE(none.error().text().find("'leaf'"), std::string::npos);
}

TEST(Cut, BlocksThenGapsThenTheFile) {
  EXPECT_EQ(told(cut_of(log_of("A,Ci\n1,2\n3,4\n\nA,Ci\n5,6\n"))), "day1-1: 0 1; day1-2: 2");
  EXPECT_EQ(told(cut_of(log_of("time_s,A\n0,1\n60,2\n1000,3\n1060,4\n"))),
            "day1-1: 0 1; day1-2: 2 3");
  EXPECT_EQ(told(cut_of(log_of("time_s,A\n0,1\n60,2\n950,3\n"))), "day1: 0 1 2");
  EXPECT_EQ(told(cut_of(log_of("A,Ci\n1,2\n3,4\n"))), "day1: 0 1");
  CutChoice minute;
  minute.gap_s = 59;
  EXPECT_EQ(told(cut_of(log_of("time_s,A\n0,1\n60,2\n"), minute)), "day1-1: 0; day1-2: 1");
}

TEST(Cut, BySamplesWindows) {
  const Log log = log_of("time_s,A\n0,1\n10,2\n20,3\n30,4\n40,5\n");
  const Samples samples = samples_of("curve_id,from,to\na,0,20\nb,25,45\n");
  const auto cut = cut_of(log, {}, &samples);
  EXPECT_EQ(told(cut), "a: 0 1; b: 3 4");
  EXPECT_TRUE(has_note(cut->notes, "rows-without-curve", "1 row"));
  const Samples overlap = samples_of("curve_id,from,to\na,0,20\nb,15,45\n");
  EXPECT_EQ(cut_of(log, {}, &overlap).error().code, ErrorCode::refused);
  const Samples turned = samples_of("curve_id,from,to\na,20,0\n");
  EXPECT_NE(cut_of(log, {}, &turned).error().text().find("leaves.csv:2: curve 'a' ends"),
            std::string::npos);
  const Samples other = samples_of("curve_id,file,from,to\na,day2.csv,0,20\n");
  EXPECT_EQ(told(cut_of(log, {}, &other)), "day1: 0 1 2 3 4");
  CutChoice asked;
  asked.by = CutBy::samples;
  EXPECT_NE(told(cut_of(log, asked, &other)).find("no window of time for day1.csv"),
            std::string::npos);
  const Samples clock = samples_of("curve_id,from,to\na,10:00,11:00\n");
  EXPECT_NE(told(cut_of(log, asked, &clock)).find("the log has only time_s"), std::string::npos);
  const Samples empty = samples_of("curve_id,from,to\na,0,20\nb,100,200\n");
  EXPECT_TRUE(has_note(cut_of(log, {}, &empty)->notes, "window-empty", "leaves.csv:3"));
}

TEST(Cut, ByTheProgrammeOfCO2) {
  std::string text = "time_s,CO2r,A\n";
  int t = 0;
  // Two curves of one row a set-point, with the return to 400 at the end of each, ten minutes
  // apart.
  for (int curve = 0; curve < 2; ++curve) {
    for (const double co2 : {400.2, 200.1, 50.3, 399.8, 800.0, 1200.5, 400.1}) {
      text += std::to_string(t += 120) + "," + std::to_string(co2) + ",1\n";
    }
    t += 600;
  }
  CutChoice choice;
  choice.by = CutBy::programme;
  EXPECT_EQ(told(cut_of(log_of(text), choice)), "day1-1: 0 1 2 3 4 5 6; day1-2: 7 8 9 10 11 12 13");
  EXPECT_NE(told(cut_of(log_of("A,Ci\n1,2\n"), choice)).find("no CO2r to cut by"),
            std::string::npos);
}

TEST(Cut, ByTheProgrammeOfAContinuousLog) {
  std::string text = "time_s,CO2r,A\n";
  int t = 0;
  for (int curve = 0; curve < 2; ++curve) {
    for (const double co2 : {400.0, 100.0, 800.0}) {
      for (int i = 0; i < 60; ++i, ++t) {
        const double away = i < 6 ? 30.0 * (6 - i) : 0.3 * (i % 3);
        text += std::to_string(t) + "," + std::to_string(co2 + away) + ",1\n";
      }
    }
  }
  CutChoice choice;
  choice.by = CutBy::programme;
  const auto cut = cut_of(log_of(text), choice);
  ASSERT_TRUE(cut) << cut.error().text();
  ASSERT_EQ(cut->curves.size(), 2U);
  // The second begins where the last hold of the first ends, at row 180.
  EXPECT_EQ(cut->curves[1].rows.front(), 180U);
}

TEST(Cut, ByRemarks) {
  const Log log = log_of("A,Ci\n1,2\nleaf 3 oak\n3,4\n5,6\nleaf 4 oak\n7,8\nleaf 3 oak\n9,10\n");
  CutChoice choice;
  choice.by = CutBy::remarks;
  EXPECT_EQ(told(cut_of(log, choice)),
            "day1-0: 0; leaf 3 oak: 1 2; leaf 4 oak: 3; leaf 3 oak (2): 4");
  const auto none = cut_of(log_of("A,Ci\n1,2\n"), choice);
  ASSERT_FALSE(none);
  EXPECT_NE(none.error().text().find("--remark-column"), std::string::npos);
  choice.remark_column = "note";
  EXPECT_EQ(told(cut_of(log_of("note,A\noak,1\n,2\nbeech,3\n"), choice)), "oak: 0 1; beech: 2");
  EXPECT_NE(told(cut_of(log_of("nite,A\noak,1\n"), choice)).find("if 'nite' is meant"),
            std::string::npos);
}

TEST(Cut, ARenameIsADecisionThatIsTold) {
  const std::string text = "curve_id,A\nK6708,1\nK67O8,2\nK6713,3\n";
  const Log log = log_of(text);
  const auto cut = cut_of(log, {.renames = {"K67O8=K6708"}});
  EXPECT_EQ(told(cut), "K6708: 0 1; K6713: 2");
  EXPECT_EQ(cut->curve_of, (std::vector<std::uint32_t>{0, 0, 1}));
  EXPECT_TRUE(has_note(cut->notes, "curve-renamed", "the log is unchanged"));
  EXPECT_EQ(log.table().text(0, 1), "K67O8");
  const Samples samples =
      samples_of("curve_id,rename,reason\nK67O8,K6708,letter O typed for zero\n");
  EXPECT_TRUE(has_note(cut_of(log, {}, &samples)->notes, "curve-renamed",
                       "leaves.csv:2: letter O typed for zero"));
  const auto unknown = cut_of(log, {.renames = {"K6709=x"}});
  ASSERT_FALSE(unknown);
  EXPECT_EQ(unknown.error().code, ErrorCode::usage);
  EXPECT_FALSE(cut_of(log, {.renames = {"K6708"}}));
}

}  // namespace
}  // namespace leafwright
