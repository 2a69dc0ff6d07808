#include "log/samples.hpp"

#include <gtest/gtest.h>

#include "log/logs.hpp"

namespace leafwright {
namespace {

using testing_logs::has_note;
using testing_logs::log_of;
using testing_logs::samples_of;

TEST(Samples, ReadsWhatIsKnownOfEachLeaf) {
  const Samples s = samples_of(
      "curve_id,area (mm2),area_sd (mm2),area_basis,area_method,cover,stomatal_ratio,species,plot\n"
      "a,420,10,half total,scan,0.9,0.5,Quercus robur,3\n"
      "b,,,,,,,Fagus,\n");
  ASSERT_EQ(s.rows.size(), 2U);
  const Sample* a = s.find("a", "any.csv");
  ASSERT_NE(a, nullptr);
  EXPECT_DOUBLE_EQ(*a->area, 4.2);
  EXPECT_DOUBLE_EQ(*a->area_sd, 0.1);
  EXPECT_EQ(*a->area_basis, AreaBasis::half_total);
  EXPECT_EQ(a->area_method, "scan");
  EXPECT_DOUBLE_EQ(*a->cover, 0.9);
  EXPECT_DOUBLE_EQ(*a->stomatal_ratio, 0.5);
  EXPECT_EQ(a->other.at("species"), "Quercus robur");
  EXPECT_EQ(s.other, (std::vector<std::string>{"species", "plot"}));
  EXPECT_FALSE(s.find("b", "any.csv")->area);
  EXPECT_EQ(s.find("c", "any.csv"), nullptr);
}

TEST(Samples, OneIdInTwoLogs) {
  const Samples s = samples_of("curve_id,file,area\n1,mon.csv,4\n1,tue.csv,5\n");
  EXPECT_DOUBLE_EQ(*s.find("1", "logs/mon.csv")->area, 4);
  EXPECT_DOUBLE_EQ(*s.find("1", "tue.csv")->area, 5);
  EXPECT_EQ(s.find("1", "wed.csv"), nullptr);
}

TEST(Samples, TheSameTwiceIsTakenOnce) {
  const Samples s = samples_of("curve_id,area\na,4\na,4\n");
  EXPECT_EQ(s.rows.size(), 1U);
  EXPECT_TRUE(has_note(s.notes, "sample-twice", "leaves.csv:2 and line 3"));
}

struct Broken {
  const char* text;
  ErrorCode code;
  const char* says;
};

TEST(Samples, EveryMistakeWithItsPlace) {
  const Broken all[] = {
      {"curve,area\na,4\n", ErrorCode::unreadable, "no column 'curve_id'"},
      {"Curve_id,area\na,4\n", ErrorCode::unreadable, "there is 'Curve_id'"},
      {"curve_id,area\na,4\n,5\n", ErrorCode::unreadable, "leaves.csv:3: no curve_id"},
      {"curve_id,area\na,four\n", ErrorCode::unreadable, "leaves.csv:2:3: 'four'"},
      {"curve_id,area\na,-4\n", ErrorCode::unreadable, "leaves.csv:2:3: area is -4 cm2"},
      {"curve_id,area\na,0\n", ErrorCode::unreadable, "more than 0"},
      {"curve_id,area (kPa)\na,4\n", ErrorCode::unreadable, "pressure"},
      {"curve_id,area (cm3)\na,4\n", ErrorCode::unreadable, "column 'area'"},
      {"curve_id,cover\na,1.2\n", ErrorCode::unreadable, "at most 1"},
      {"curve_id,area_sd\na,-0.1\n", ErrorCode::unreadable, "at least 0"},
      {"curve_id,half_total_ratio\na,0.5\n", ErrorCode::unreadable, "at least 1"},
      {"curve_id,area_basis\na,both sides\n", ErrorCode::unreadable, "'projected' or 'half total'"},
      {"curve_id,area\na,4\nb,5\na,6\n", ErrorCode::refused, "area 4 and 6 (the other is line 2)"},
      {"curve_id,area,species\na,4,x\na,4,y\n", ErrorCode::refused, "species 'x' and 'y'"},
      {"curve_id,file,area\na,,4\na,d.csv,6\n", ErrorCode::refused, "area 4 and 6"},
      {"curve_id,area\na,4,9\n", ErrorCode::unreadable, "3 cells"},
      {"curve_id,area,area\na,4,4\n", ErrorCode::unreadable, "twice"},
  };
  for (const Broken& one : all) {
    const auto table = read_table(one.text, "leaves.csv");
    ASSERT_TRUE(table || table.error().text().find(one.says) != std::string::npos) << one.text;
    if (!table) continue;
    const auto samples = read_samples(*table);
    ASSERT_FALSE(samples) << one.text;
    EXPECT_EQ(samples.error().code, one.code) << one.text;
    EXPECT_NE(samples.error().text().find(one.says), std::string::npos)
        << one.text << samples.error().text();
  }
}

TEST(Samples, WhatAJoinLeavesOverIsToldWithTheNearestId) {
  const Samples s = samples_of("curve_id,area\nK6708,4\nK6713,5\n");
  const Log log = log_of("curve_id,A\nK67O8,1\nK6713,2\n");
  const auto cut = cut_log(log, TimeAxis{}, &s, {});
  ASSERT_TRUE(cut);
  const Notes notes = join_notes(*cut, s, "day1.csv");
  EXPECT_TRUE(has_note(notes, "curve-not-in-samples", "--rename 'K67O8=K6708'"));
  EXPECT_TRUE(has_note(notes, "sample-not-in-log", "curve 'K6708' (leaves.csv:2)"));
  EXPECT_EQ(notes.size(), 2U);
}

}  // namespace
}  // namespace leafwright
