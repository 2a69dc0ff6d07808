#include "figure/colours.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

TEST(Contrast, FollowsTheFormulaOfWcag) {
  EXPECT_DOUBLE_EQ(contrast_ratio(0x000000, 0xffffff), 21.0);  // by definition
  EXPECT_DOUBLE_EQ(contrast_ratio(0x123456, 0x123456), 1.0);
  // The lightest grey that passes 4.5:1 on white is #767676 (often quoted; from memory).
  EXPECT_GE(contrast_ratio(0x767676, 0xffffff), 4.5);
  EXPECT_LT(contrast_ratio(0x777777, 0xffffff), 4.5);
  EXPECT_DOUBLE_EQ(contrast_ratio(0x0072b2, 0xffffff), contrast_ratio(0xffffff, 0x0072b2));
}

TEST(Contrast, OrangeOnWhiteWouldBeCaught) {
  EXPECT_LT(contrast_ratio(0xe69f00, 0xffffff), 3.0);
  EXPECT_LT(contrast_ratio(0x56b4e9, 0xffffff), 3.0);
}

TEST(Inks, PassOnTheirPaperInBothThemes) {
  for (const bool dark : {false, true}) {
    const std::uint32_t paper = ink_rgb(Ink::paper, dark);
    for (const Ink ink : drawn_inks) {
      if (ink == Ink::paper) continue;
      EXPECT_GE(contrast_ratio(ink_rgb(ink, dark), paper), 3.0) << ink_name(ink) << dark;
    }
    for (const Ink ink : {Ink::ink, Ink::muted}) {
      EXPECT_GE(contrast_ratio(ink_rgb(ink, dark), paper), 4.5) << ink_name(ink) << dark;
    }
  }
}

TEST(Inks, AreOkabeAndItosWhereTheyCarryMeaning) {
  // Okabe & Ito 2008; Wong 2011, Nature Methods 8:441, table.
  EXPECT_EQ(ink_hex(Ink::blue, false), "#0072b2");
  EXPECT_EQ(ink_hex(Ink::vermillion, false), "#d55e00");
  EXPECT_EQ(ink_hex(Ink::green, false), "#009e73");
  EXPECT_EQ(ink_hex(Ink::purple, false), "#cc79a7");
  EXPECT_EQ(ink_hex(Ink::none, true), "none");
  EXPECT_THROW(ink_rgb(Ink::none, false), std::logic_error);
}

TEST(Inks, StyleRulesNameEveryInk) {
  const std::string rules = ink_style_rules(true);
  for (const Ink ink : drawn_inks) {
    const std::string name = ink_name(ink);
    EXPECT_NE(rules.find(".f-" + name + "{fill:" + ink_hex(ink, true) + "}"), rules.npos);
    EXPECT_NE(rules.find(".s-" + name + "{stroke:" + ink_hex(ink, true) + "}"), rules.npos);
  }
}

TEST(Theme, IsFoundByName) {
  EXPECT_EQ(find_theme("light").value(), Theme::light);
  EXPECT_EQ(find_theme("dark").value(), Theme::dark);
  EXPECT_EQ(find_theme("auto").value(), Theme::automatic);
  const auto unknown = find_theme("night");
  ASSERT_FALSE(unknown);
  EXPECT_EQ(unknown.error().code, ErrorCode::usage);
  EXPECT_EQ(unknown.error().found, "unknown theme 'night'");
  EXPECT_EQ(unknown.error().expected, "expected light, dark or auto");
}

}  // namespace
}  // namespace leafwright
