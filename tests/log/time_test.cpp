#include "log/time.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "log/logs.hpp"

namespace leafwright {
namespace {

using testing_logs::has_note;
using testing_logs::log_of;

TimeAxis axis_of(const std::string& text, const TimeChoice& choice = {}) {
  const Log log = log_of(text);
  const auto axis = time_axis(log, choice);
  EXPECT_TRUE(axis) << axis.error().text();
  return axis.value_or(TimeAxis{});
}

// Summer time ends on 2022-10-30 at 03:00 and begins on 2022-03-27 at 02:00 (Directive 2000/84/EC,
// central Europe), local seconds since 1970: 19295 and 19078 days.
std::vector<double> central_europe(std::int64_t local) {
  constexpr std::int64_t back = 19295LL * 86400 + 2 * 3600, on = 19078LL * 86400 + 2 * 3600;
  if (local >= back && local < back + 3600) return {7200, 3600};
  if (local >= on && local < on + 3600) return {};
  return {local >= on + 3600 && local < back ? 7200.0 : 3600.0};
}

TEST(TimeAxis, SecondsGoBeforeElapsedBeforeTheClock) {
  const auto first = axis_of("time_s,elapsed_s,A\n100,1,5\n110,2,5\n");
  EXPECT_EQ(first.source, TimeSource::time_s);
  EXPECT_EQ(first.seconds, (std::vector<double>{100, 110}));
  const auto second = axis_of("elapsed_s,time,A\n1,10:00:00,5\n2,10:00:01,5\n");
  EXPECT_EQ(second.source, TimeSource::elapsed_s);
  EXPECT_EQ(axis_of("A,Ci\n1,2\n").source, TimeSource::none);
}

TEST(TimeAxis, AMinuteColumnIsSeconds) {
  EXPECT_EQ(axis_of("elapsed_s (min),A\n1,5\n2,5\n").seconds, (std::vector<double>{60, 120}));
}

TEST(TimeAxis, DateAndTimeThroughMidnightAndALeapDay) {
  const auto axis = axis_of(
      "date,time,A\n2024-02-28,23:59:30,1\n2024-02-29,00:00:30,1\n2024-03-01,00:00:30.5,1\n");
  EXPECT_EQ(axis.source, TimeSource::date_time);
  EXPECT_EQ(axis.seconds, (std::vector<double>{0, 60, 86460.5}));
  // 2024-02-28 is day 19781 (2020-01-01 is 18262; 4 x 365 + 1 + 58).
  EXPECT_DOUBLE_EQ(*axis.epoch, 19781 * 86400.0 + 86370);
  EXPECT_TRUE(has_note(axis.notes, "no-time-zone"));
}

TEST(TimeAxis, ADateThatStandsStillAtMidnight) {
  const auto axis =
      axis_of("date,time,A\n2022-08-07,23:59:50,1\n2022-08-07,00:00:10,1\n2022-08-07,00:00:40,1\n");
  EXPECT_EQ(axis.seconds, (std::vector<double>{0, 20, 50}));
  EXPECT_TRUE(has_note(axis.notes, "date-stands-still", "day1.csv:3"));
}

TEST(TimeAxis, TimeOfDayAlone) {
  const auto axis = axis_of("time,A\n23:59:50,1\n00:00:10,1\n12:00,1\n");
  EXPECT_EQ(axis.source, TimeSource::time_of_day);
  EXPECT_EQ(axis.seconds, (std::vector<double>{86390, 86410, 129600}));
  EXPECT_TRUE(has_note(axis.notes, "midnight"));
}

TEST(TimeAxis, TheHourThatIsThereTwice) {
  TimeChoice zone{central_europe, "Europe/Somewhere", {}};
  const std::string log =
      "date,time,A\n2022-10-30,01:59:00,1\n2022-10-30,02:30:00,1\n2022-10-30,02:59:00,1\n"
      "2022-10-30,02:00:00,1\n2022-10-30,02:30:00,1\n2022-10-30,03:00:00,1\n";
  const auto axis = axis_of(log, zone);
  EXPECT_EQ(axis.seconds, (std::vector<double>{0, 31 * 60, 60 * 60, 61 * 60, 91 * 60, 121 * 60}));
  EXPECT_TRUE(axis.back.empty());
  EXPECT_TRUE(has_note(axis.notes, "clock-change"));
  // Without the zone the clock steps back, which is told with what it may be.
  const auto blind = axis_of(log);
  EXPECT_EQ(blind.back, (std::vector<std::size_t>{3}));
  EXPECT_TRUE(has_note(blind.notes, "clock-back", "state the time zone"));
}

TEST(TimeAxis, TheHourThatIsLeftOut) {
  TimeChoice zone{central_europe, "Europe/Somewhere", {}};
  const auto axis = axis_of("date,time,A\n2022-03-27,01:59:00,1\n2022-03-27,03:01:00,1\n", zone);
  EXPECT_EQ(axis.seconds, (std::vector<double>{0, 120}));
  const auto wrong = axis_of("date,time,A\n2022-03-27,01:59:00,1\n2022-03-27,02:10:00,1\n", zone);
  EXPECT_TRUE(has_note(wrong.notes, "hour-left-out", "day1.csv:3"));
}

TEST(TimeAxis, AClockThatWasSetBackStaysAndIsTold) {
  const auto axis = axis_of("time_s,A\n10,1\n20,1\n5,1\n15,1\n");
  EXPECT_EQ(axis.seconds, (std::vector<double>{10, 20, 5, 15}));
  EXPECT_EQ(axis.back, (std::vector<std::size_t>{2}));
  EXPECT_TRUE(has_note(axis.notes, "clock-back", "day1.csv:4, by up to 15 s"));
}

TEST(TimeAxis, CellsThatAreNoTimeKeepTheirRow) {
  const auto axis = axis_of("date,time,A\n2022-08-07,10:00:00,1\n2022-08-07,noon,1\n,,1\n");
  EXPECT_TRUE(std::isnan(axis.seconds[1]));
  EXPECT_TRUE(std::isnan(axis.seconds[2]));
  ASSERT_EQ(axis.problems.size(), 1U);
  EXPECT_NE(axis.problems[0].text().find("day1.csv:3:12: 'noon'"), std::string::npos)
      << axis.problems[0].text();
  const Log none = log_of("date,time,A\n2022-13-07,10:00:00,1\n");
  EXPECT_FALSE(time_axis(none));
}

TEST(ParseClock, WhatItReads) {
  EXPECT_EQ(*parse_clock("1970-01-02")->day, 1);
  EXPECT_EQ(*parse_clock("2000/03/01")->day, 11017);
  EXPECT_DOUBLE_EQ(*parse_clock("10:44:04.25")->second, 38644.25);
  EXPECT_DOUBLE_EQ(*parse_clock("2022-08-07T10:44Z")->offset, 0);
  EXPECT_DOUBLE_EQ(*parse_clock("2022-08-07 10:44:04+02:00")->offset, 7200);
  for (const char* text : {"", "7.8.2022", "2022-02-30", "25:00", "10:60", "10", "10:44:04x",
                           "2022-08-07 10:44:04 pm", "2022-8-7"}) {
    EXPECT_FALSE(parse_clock(text)) << text;
  }
}

TEST(Moment, OnEveryKindOfAxis) {
  const auto dated = axis_of("date,time,A\n2022-08-07,10:00:00,1\n2022-08-07,11:00:00,1\n");
  EXPECT_DOUBLE_EQ(*moment(dated, "2022-08-07 10:30:00"), 1800);
  EXPECT_DOUBLE_EQ(*moment(dated, "10:30"), 1800);
  EXPECT_DOUBLE_EQ(*moment(dated, "12.5"), 12.5);
  const auto seconds = axis_of("time_s,A\n10,1\n");
  const auto refused = moment(seconds, "10:30");
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().text().find("the log has only time_s"), std::string::npos);
  EXPECT_FALSE(moment(dated, "half past ten"));
}

}  // namespace
}  // namespace leafwright
