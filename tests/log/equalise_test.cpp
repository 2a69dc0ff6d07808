#include "log/equalise.hpp"

#include <gtest/gtest.h>

#include "log/logs.hpp"

namespace leafwright {
namespace {

using testing_logs::log_of;

Result<Equalisations> found(const std::string& text, const EqualiseChoice& choice) {
  const Log log = log_of(text);
  const auto axis = time_axis(log);
  if (!axis) return fail(axis.error());
  return find_equalisations(log, *axis, choice);
}

TEST(Equalisations, MarksInAColumn) {
  const auto cells =
      found("time_s,eq,A\n0,0,1\n10,1,1\n20,1,1\n30,0,1\n40,0,1\n", {.column = "eq"});
  ASSERT_TRUE(cells) << cells.error().text();
  EXPECT_EQ(cells->in_progress, (std::vector<char>{0, 1, 1, 0, 0}));
  ASSERT_EQ(cells->events.size(), 1U);
  EXPECT_DOUBLE_EQ(cells->events[0].time_s, 20);
  EXPECT_EQ(cells->events[0].source, "column 'eq', day1.csv:4");
  EXPECT_FALSE(cells->age(15));
  EXPECT_DOUBLE_EQ(*cells->age(40), 20);
}

TEST(Equalisations, ACounterThatChanges) {
  const auto cells = found("time_s,n,A\n0,7,1\n10,7,1\n20,8,1\n30,8,1\n", {.column = "n"});
  ASSERT_TRUE(cells);
  ASSERT_EQ(cells->events.size(), 1U);
  EXPECT_DOUBLE_EQ(cells->events[0].time_s, 20);
  EXPECT_TRUE(cells->in_progress.empty());
}

TEST(Equalisations, ByTimeWithAmounts) {
  const std::string log = "date,time,A\n2022-08-07,10:00:00,1\n2022-08-07,11:00:00,1\n";
  EqualiseChoice choice;
  choice.events = {"2022-08-07 10:50=0.35,0.02", "10:10"};
  EXPECT_NE(found(log, choice).error().text().find("--equalised-applied yes or no"),
            std::string::npos);
  choice.applied = false;
  const auto cells = found(log, choice);
  ASSERT_TRUE(cells) << cells.error().text();
  ASSERT_EQ(cells->events.size(), 2U);
  EXPECT_DOUBLE_EQ(cells->events[0].time_s, 600);
  EXPECT_FALSE(cells->events[0].dCO2);
  EXPECT_DOUBLE_EQ(*cells->events[1].dCO2, 0.35);
  EXPECT_DOUBLE_EQ(*cells->events[1].dH2O, 0.02);
}

TEST(Equalisations, Mistakes) {
  EXPECT_EQ(found("A,Ci\n1,2\n", {.events = {"10"}}).error().code, ErrorCode::usage);
  EXPECT_NE(found("time_s,eqal,A\n0,1,2\n", {.column = "equal"}).error().text().find("'eqal'"),
            std::string::npos);
  EXPECT_FALSE(found("time_s,A\n0,1\n", {.events = {"0=much"}}));
  EXPECT_FALSE(found("time_s,A\n0,1\n", {.events = {"soon"}}));
}

}  // namespace
}  // namespace leafwright
