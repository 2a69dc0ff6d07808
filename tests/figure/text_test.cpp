#include "figure/text.hpp"

#include <gtest/gtest.h>

#include <limits>

namespace leafwright {
namespace {

TEST(TextWidth, GrowsWithTextSizeAndWeight) {
  EXPECT_DOUBLE_EQ(text_width("", 7), 0);
  EXPECT_DOUBLE_EQ(text_width("00", 10), 2 * text_width("0", 10));
  EXPECT_DOUBLE_EQ(text_width("leaf", 14), 2 * text_width("leaf", 7));
  EXPECT_GT(text_width("leaf", 7, true), text_width("leaf", 7));
  EXPECT_GT(text_width("日本", 7), text_width("ab", 7));
  EXPECT_DOUBLE_EQ(text_width("e\u0301", 7), text_width("e", 7));
  // DejaVu Sans 2.37, hmtx table: digits are 1303 units of 2048.
  EXPECT_NEAR(text_width("0", 1000), 1303.0 / 2048 * 1000, 0.5);
}

TEST(Shorten, KeepsBothEnds) {
  EXPECT_EQ(shorten("short", 100, 7), "short");
  const std::string id = "campaign 2031/plot 17/plant 4/leaf 3";
  const std::string cut = shorten(id, 80, 7);
  EXPECT_LE(text_width(cut, 7), 80);
  EXPECT_EQ(cut.substr(0, 4), "camp");
  EXPECT_EQ(cut.substr(cut.size() - 3), "f 3");
  EXPECT_EQ(shorten("日本語日本語日本語", 1, 7), "…");
}

TEST(Wrap, BreaksAtBlanksAndInsideLongWords) {
  for (const std::string& line : wrap("only two distinct levels of Ci among the rows", 60, 7)) {
    EXPECT_LE(text_width(line, 7), 60) << line;
  }
  const auto pieces = wrap("ααααααααααααααααααααααααα", 40, 7);
  EXPECT_GT(pieces.size(), 2U);
  std::string joined;
  for (const std::string& p : pieces) joined += p;
  EXPECT_EQ(joined, "ααααααααααααααααααααααααα");
  EXPECT_TRUE(wrap("", 60, 7).empty());
  EXPECT_TRUE(wrap(" \n ", 60, 7).empty());
  EXPECT_EQ(wrap("x", 0.1, 7).size(), 1U);
}

TEST(PrettyUnit, WritesPowersAndKeepsUnitsTogether) {
  EXPECT_EQ(pretty_unit("umol m-2 s-1"), "µmol\u00a0m⁻²\u00a0s⁻¹");
  EXPECT_EQ(pretty_unit("degC"), "°C");
  EXPECT_EQ(pretty_unit("kPa"), "kPa");
}

TEST(PrettyNumber, IsShort) {
  EXPECT_EQ(pretty_number(61.2), "61.2");
  EXPECT_EQ(pretty_number(61.2345), "61.23");
  EXPECT_EQ(pretty_number(-0.31), "−0.31");
  EXPECT_EQ(pretty_number(0), "0");
  EXPECT_EQ(pretty_number(-0.0), "0");
  EXPECT_EQ(pretty_number(12345.6), "12346");
  EXPECT_EQ(pretty_number(1.5e6), "1.5e6");
  EXPECT_EQ(pretty_number(-2.5e-7), "−2.5e−7");
  EXPECT_EQ(pretty_number(99999.9), "1e5");
  EXPECT_EQ(pretty_number(1e100), "1e100");
  EXPECT_THROW(pretty_number(std::numeric_limits<double>::quiet_NaN()), std::logic_error);
}

}  // namespace
}  // namespace leafwright
