#include "ramp/offset_table.hpp"

#include <gtest/gtest.h>

#include "ramp/identify.hpp"
#include "ramp/simulated.hpp"

namespace leafwright {
namespace {

using ramp_test::simulated;
using ramp_test::Truth;
using ramp_test::up_ramp;

OffsetTable table_of(const Truth& truth, const std::string& date, double noise = 0.1,
                     std::uint32_t seed = 0) {
  const auto path = identify({simulated(truth, noise, seed)});
  EXPECT_TRUE(path);
  const auto table = offset_table(*path, date);
  EXPECT_TRUE(table);
  return *table;
}

RampRecord same_air(double CO2, double difference, std::uint32_t seed) {
  Truth truth;
  truth.start = CO2;
  truth.seconds = 60;
  truth.c0 = difference;
  truth.c1 = truth.c2 = 0;
  return simulated(truth, 0.1, seed);
}

TEST(OffsetTable, NeedsADateAndALag) {
  const auto path = identify({simulated(up_ramp())});
  ASSERT_TRUE(path);
  EXPECT_EQ(offset_table(*path).error().code, ErrorCode::usage);
  const auto body = identify({simulated(ramp_test::body_only())});
  ASSERT_TRUE(body);
  EXPECT_EQ(offset_table(*body, "2030-05-01").error().code, ErrorCode::refused);
}

TEST(OffsetTable, IsTakenOnceOnly) {
  const OffsetTable table = table_of(up_ramp(), "2030-05-01", 0);
  RampRecord record = simulated(up_ramp());
  const double before = record.CO2s[0];
  ASSERT_TRUE(apply_offset(record, table));
  // 0.4 - 1.5 x + 0.8 x^2 at x = 0.05 of the truth
  EXPECT_NEAR(before - record.CO2s[0], 0.327, 0.003);
  const auto again = apply_offset(record, table);
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, ErrorCode::refused);
  EXPECT_NE(again.error().text().find("2030-05-01"), std::string::npos);
}

TEST(OffsetTable, IsRefusedWhereTheLogHoldsALaterEqualisation) {
  const OffsetTable table = table_of(up_ramp(), "2030-05-01");
  RampRecord record = simulated(up_ramp());
  record.equalised = CellsEqualised{"2030-05-02", 0.3, true};
  ASSERT_FALSE(apply_offset(record, table));
  record.equalised->in_log = false;
  EXPECT_TRUE(apply_offset(record, table));
}

TEST(OffsetTable, TwoDatesAreCompared) {
  Truth later = up_ramp();
  later.c0 += 0.4;
  const OffsetTable a = table_of(up_ramp(), "2030-05-01", 0.1, 1);
  const auto same = compare_offsets(a, table_of(up_ramp(), "2030-05-02", 0.1, 2));
  ASSERT_TRUE(same);
  EXPECT_FALSE(same->different);
  const auto drifted = compare_offsets(a, table_of(later, "2030-05-03", 0.1, 3));
  ASSERT_TRUE(drifted);
  EXPECT_TRUE(drifted->different);
  for (const auto& point : drifted->points)
    EXPECT_NEAR(point.change.value, 0.4, 4 * point.change.se) << point.CO2;
}

TEST(OffsetTable, OtherEvidenceContradictsIt) {
  const OffsetTable table = table_of(up_ramp(), "2030-05-01");
  const WithError said = table.at(400);
  EXPECT_FALSE(contradiction(table, 400, {said.value + 0.05, 0.02}, "the same air"));
  const auto note = contradiction(table, 400, {said.value + 0.5, 0.02}, "the same air");
  ASSERT_TRUE(note);
  EXPECT_EQ(note->level, NoteLevel::warning);
}

TEST(OffsetTable, SameAirInBothCellsTellsTheLeak) {
  Truth leaky = up_ramp();
  leaky.leak = 0.45;
  const auto pure = offset_from_same_air(
      {same_air(100, 0.258, 1), same_air(500, -0.15, 2), same_air(900, -0.302, 3)}, 0.03,
      "2030-05-01");
  ASSERT_TRUE(pure) << pure.error().text();
  EXPECT_FALSE(pure->with_leak);
  const OffsetTable empty = table_of(leaky, "2030-05-01");
  const auto leak = leak_between(empty, *pure);
  ASSERT_TRUE(leak) << leak.error().text();
  EXPECT_NEAR(leak->K.value, 0.45, 3 * leak->K.se);
  EXPECT_LT(leak->K.se, 0.06);
  EXPECT_NEAR(leak->ambient.value, 420, 3 * leak->ambient.se);
  EXPECT_EQ(compare_offsets(empty, *pure).error().code, ErrorCode::refused);
  EXPECT_EQ(leak_between(empty, empty).error().code, ErrorCode::refused);
}

TEST(OffsetTable, MovingAirIsNotTheSameAir) {
  const auto table = offset_from_same_air({simulated(up_ramp())}, 0.03, "2030-05-01");
  ASSERT_FALSE(table);
  EXPECT_EQ(table.error().code, ErrorCode::unfit);
}

}  // namespace
}  // namespace leafwright
