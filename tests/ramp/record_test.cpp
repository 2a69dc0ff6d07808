// Rows of a log as a record: what is mended, what is told, what is refused.
#include "ramp/record.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <memory>

#include "table/table.hpp"

namespace leafwright {
namespace {

struct Line {
  double time = 0, R = 0, S = 0, H2Or = 15, H2Os = 15;
};

std::vector<Line> ramp(int n = 40) {
  std::vector<Line> lines;
  for (int i = 0; i < n; ++i)
    lines.push_back({1.0 * i, 400 + 3.3 * i, 399 + 3.3 * i, 15 + 0.01 * i, 15 + 0.02 * i});
  return lines;
}

Result<RampRecord> record_of(const std::string& text) {
  auto table = read_table(text, "empty.csv");
  if (!table) return fail(table.error());
  const auto log = read_log(std::make_shared<const Table>(std::move(*table)));
  if (!log) return fail(log.error());
  return ramp_record(*log, all_rows(*log), RecordRole::empty, {}, "empty.csv");
}

Result<RampRecord> record_of(const std::vector<Line>& lines) {
  std::string text = "time_s,CO2r,CO2s,H2Or,H2Os\n";
  for (const Line& line : lines)
    text += fmt::format("{},{},{},{},{}\n", line.time, line.R, line.S, line.H2Or, line.H2Os);
  return record_of(text);
}

const Note* note(const RampRecord& record, const std::string& about) {
  const auto at = std::find_if(record.notes.begin(), record.notes.end(),
                               [&](const Note& one) { return one.about == about; });
  return at == record.notes.end() ? nullptr : &*at;
}

TEST(RampRecord, TakesSeriesAndLeavesMissingOnesEmpty) {
  const auto record = record_of(ramp());
  ASSERT_TRUE(record) << record.error().text();
  EXPECT_EQ(record->size(), 40U);
  EXPECT_EQ(record->CO2s[3], 399 + 3.3 * 3);
  EXPECT_TRUE(record->flow.empty());
  EXPECT_TRUE(record->A_recorded.empty());
  EXPECT_FALSE(record->area);
}

TEST(RampRecord, TheSameTimeTwiceLosesTheLaterRow) {
  auto lines = ramp();
  lines[10].time = 9;
  const auto record = record_of(lines);
  ASSERT_TRUE(record);
  EXPECT_EQ(record->size(), 39U);
  ASSERT_NE(note(*record, "time-repeated"), nullptr);
  EXPECT_NE(note(*record, "time-repeated")->text.find("line 12"), std::string::npos);
}

TEST(RampRecord, ARowThatRepeatsTheOneBeforeWasNotMeasured) {
  auto lines = ramp();
  const double time = lines[20].time;
  lines[20] = lines[19];
  lines[20].time = time;
  const auto record = record_of(lines);
  ASSERT_TRUE(record);
  EXPECT_EQ(record->size(), 39U);
  EXPECT_NE(note(*record, "rows-repeated"), nullptr);
}

TEST(RampRecord, StandingAirIsNoRepeat) {
  auto lines = ramp();
  for (int i = 0; i < 20; ++i) {
    const double time = lines[static_cast<std::size_t>(i)].time;
    lines[static_cast<std::size_t>(i)] = {time, 400, 399, 15, 15};
  }
  const auto record = record_of(lines);
  ASSERT_TRUE(record);
  EXPECT_EQ(record->size(), 40U);
}

TEST(RampRecord, AClockThatStepsBackOnceIsCut) {
  auto lines = ramp();
  for (std::size_t i = 30; i < lines.size(); ++i) lines[i].time -= 100;
  const auto record = record_of(lines);
  ASSERT_TRUE(record);
  EXPECT_EQ(record->size(), 30U);
  ASSERT_NE(note(*record, "clock-back"), nullptr);
  EXPECT_EQ(note(*record, "clock-back")->level, NoteLevel::warning);
}

TEST(RampRecord, AClockThatStepsBackAgainAndAgainIsRefused) {
  auto lines = ramp();
  for (std::size_t i = 0; i < lines.size(); ++i) lines[i].time = static_cast<double>(i % 10);
  const auto record = record_of(lines);
  ASSERT_FALSE(record);
  EXPECT_EQ(record.error().code, ErrorCode::unreadable);
  EXPECT_NE(record.error().text().find("steps back 3 times"), std::string::npos)
      << record.error().text();
}

TEST(RampRecord, AGapIsTold) {
  auto lines = ramp();
  for (std::size_t i = 25; i < lines.size(); ++i) lines[i].time += 60;
  const auto record = record_of(lines);
  ASSERT_TRUE(record);
  ASSERT_NE(note(*record, "gap"), nullptr);
  EXPECT_NE(note(*record, "gap")->text.find("61 s"), std::string::npos);
}

TEST(RampRecord, MixedUnitsAreRefused) {
  auto lines = ramp();
  for (Line& line : lines) line.S /= 1000;
  const auto record = record_of(lines);
  ASSERT_FALSE(record);
  EXPECT_EQ(record.error().code, ErrorCode::unreadable);
  EXPECT_NE(record.error().text().find("unit"), std::string::npos);
}

TEST(RampRecord, WithoutTimeOrOneStreamThereIsNone) {
  std::string text = "CO2r,CO2s\n", one = "time_s,CO2r\n";
  for (int i = 0; i < 20; ++i) {
    text += fmt::format("{},{}\n", 400 + i, 401 + i);
    one += fmt::format("{},{}\n", i, 400 + i);
  }
  EXPECT_NE(record_of(text).error().text().find("no time"), std::string::npos);
  EXPECT_NE(record_of(one).error().text().find("no CO2s"), std::string::npos);
  EXPECT_FALSE(record_of(ramp(9)));
}

}  // namespace
}  // namespace leafwright
