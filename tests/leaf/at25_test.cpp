#include "leaf/at25.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>

namespace leafwright {
namespace {

const ResponseSet& named(std::string_view name) {
  return **find_response(name);
}
constexpr Capacity capacities[] = {Capacity::Vcmax, Capacity::J, Capacity::TPU, Capacity::Rday};

TEST(MoveTo25, DividesByTheSetsOwnFactor) {
  const auto move = move_to_25(named("bernacchi-2001"), Capacity::Vcmax, 31);
  ASSERT_TRUE(move);
  EXPECT_EQ(move->factor, arrhenius(65.33, 31));
}

TEST(MoveTo25, RangeIsThatOfTheNamedSets) {
  const auto move = move_to_25(named("bonan-2011"), Capacity::TPU, 38);
  ASSERT_TRUE(move);
  const double bonan = peaked(65.33, 149.25, 485, 38), sharkey = peaked(53.1, 201.8, 650, 38);
  EXPECT_EQ(move->sets, 2U);
  EXPECT_EQ(move->lowest, std::min(bonan, sharkey));
  EXPECT_EQ(move->highest, std::max(bonan, sharkey));
  // Half the range of value25, relative to the value25 of the set asked for.
  const double value = 7;
  const double width = std::abs(value / bonan - value / sharkey);
  EXPECT_NEAR(move->relative_uncertainty, width / 2 / (value / bonan), 1e-14);
}

TEST(MoveTo25, NoMoveNoDoubt) {
  const auto move = move_to_25(named("bernacchi-2001"), Capacity::Vcmax, 25);
  ASSERT_TRUE(move);
  EXPECT_EQ(move->factor, 1);
  EXPECT_NEAR(move->relative_uncertainty, 0, 1e-15);
  EXPECT_EQ(move->note.level, NoteLevel::info);
}

TEST(MoveTo25, NoteGrowsWithDistance) {
  for (const ResponseSet& set : response_sets())
    for (const Capacity capacity : capacities) {
      if (!set.of(capacity)) continue;
      for (const double sign : {-1.0, 1.0}) {
        NoteLevel level = NoteLevel::info;
        for (double distance = 0; distance <= 35; distance += 0.25) {
          const auto move = move_to_25(set, capacity, 25 + sign * distance);
          ASSERT_TRUE(move);
          EXPECT_GE(static_cast<int>(move->note.level), static_cast<int>(level))
              << set.name << " " << capacity_name(capacity) << " " << sign * distance;
          level = move->note.level;
        }
        EXPECT_EQ(level, NoteLevel::warning);
      }
    }
}

TEST(MoveTo25, TextSaysHowFarAndWhoDisagrees) {
  const auto move = move_to_25(named("sharkey-2007"), Capacity::Vcmax, 31.4);
  ASSERT_TRUE(move);
  const std::string& text = move->note.text;
  for (const char* part : {"6.4 K", "31.4", "sharkey-2007", "kattge-knorr-2007-tg11", "12 named"})
    EXPECT_NE(text.find(part), std::string::npos) << part << " in: " << text;
  EXPECT_EQ(move->note.about, "moved-to-25");
}

TEST(MoveTo25, RangeHoldsASetThatIsNotNamed) {
  ResponseSet own{"own", Response{200}, {}, {}, {}, "", ""};
  const auto move = move_to_25(own, Capacity::Vcmax, 35);
  ASSERT_TRUE(move);
  EXPECT_EQ(move->highest, move->factor);
  EXPECT_EQ(move->highest_set, "own");
}

TEST(MoveTo25, GivesNothingWhereTheSourceIsSilent) {
  const auto move = move_to_25(named("bernacchi-2001"), Capacity::TPU, 30);
  ASSERT_FALSE(move);
  EXPECT_EQ(move.error().code, ErrorCode::unfit);
  EXPECT_NE(move.error().found.find("TPU"), std::string::npos);
  for (const double t : {-10.5, 60.5, std::nan("")})
    EXPECT_FALSE(move_to_25(named("bernacchi-2001"), Capacity::Vcmax, t)) << t;
}

}  // namespace
}  // namespace leafwright
