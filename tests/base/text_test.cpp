#include "base/text.hpp"

#include <gtest/gtest.h>

#include "base/error.hpp"
#include "base/progress.hpp"

namespace leafwright {
namespace {

const std::vector<std::string> names = {"A", "Ci", "CO2s", "Tleaf", "Patm"};

TEST(Text, NearestNameForgivesCaseAndOneSlip) {
  EXPECT_EQ(nearest_name("ci", names), "Ci");
  EXPECT_EQ(nearest_name("Tlaef", names), "Tleaf");
  EXPECT_EQ(nearest_name("patm", names), "Patm");
  EXPECT_EQ(nearest_name("flow", names), std::nullopt);
  EXPECT_EQ(nearest_name("", names), std::nullopt);
}

TEST(Text, SuggestionNamesTheKnownWhereNoneIsNear) {
  EXPECT_EQ(suggest_name("flow", names), "known are A, Ci, CO2s, Tleaf, Patm");
}

TEST(Text, ShortenedCutsBetweenCharacters) {
  EXPECT_EQ(shortened("µmol", 1), "...");
  EXPECT_EQ(shortened("µmol", 2), "µ...");
  EXPECT_EQ(shortened("a\tb\n"), "a b ");
}

TEST(Text, JoinSaysHowManyItLeftOut) {
  EXPECT_EQ(join(names, ", ", 2), "A, Ci, ... (3 more)");
}

TEST(ErrorText, HoldsPlaceAndCaret) {
  const Error error{ErrorCode::unreadable, {"a.csv", 3, 4, "1,2x,3"}, "found", "expected", "hint"};
  EXPECT_EQ(error.text(), "a.csv:3:4: found; expected; hint\n  1,2x,3\n     ^");
}

TEST(ErrorText, ShowsAWindowOfALongLine) {
  Error error;
  error.found = "bad";
  error.place = {"a.csv", 1, 301, std::string(300, 'a') + "X" + std::string(300, 'b')};
  const std::string text = error.text();
  const std::size_t line = text.find("\n  ...");
  ASSERT_NE(line, std::string::npos);
  const std::size_t x = text.find('X');
  const std::size_t second = text.rfind("\n");
  EXPECT_EQ(x - (line + 1), text.find('^') - (second + 1)) << text;
  EXPECT_LT(text.size(), 220U);
}

TEST(ErrorText, CaretStandsUnderAColumnAfterTabsAndAccents) {
  const Error error{ErrorCode::unreadable, {"a", 1, 5, "\tµ\tX"}, "found", "", ""};
  EXPECT_EQ(error.text(), "a:1:5: found\n  \tµ\tX\n  \t \t^");
}

TEST(Cancel, StaysRaised) {
  Cancel cancel;
  EXPECT_FALSE(cancel.raised());
  cancel.raise();
  EXPECT_TRUE(cancel.raised());
  report_progress({}, 0.5, "nothing listens");
}

}  // namespace
}  // namespace leafwright
