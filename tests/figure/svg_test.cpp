#include "figure/svg.hpp"

#include <gtest/gtest.h>

#include <cstdio>
#include <limits>

#include "figure_checks.hpp"

namespace leafwright {
namespace {

using fixtures::read_svg;

TEST(EscapeXml, MarksUpWhatXmlReserves) {
  EXPECT_EQ(escape_xml("a<b & \"c\" 'd'>"), "a&lt;b &amp; &quot;c&quot; &#39;d&#39;&gt;");
  EXPECT_EQ(escape_xml("line\nnext\ttab"), "line&#10;next&#9;tab");
}

TEST(EscapeXml, ReplacesWhatXmlForbids) {
  EXPECT_EQ(escape_xml(std::string_view("a\0b\x01", 4)), "a\uFFFDb\uFFFD");
  EXPECT_EQ(escape_xml("Bl\xe4tt"), "Bl\uFFFDtt");              // Latin-1
  EXPECT_EQ(escape_xml("\xed\xa0\x80"), "\uFFFD\uFFFD\uFFFD");  // a surrogate
  EXPECT_EQ(escape_xml("\xc0\xaf"), "\uFFFD\uFFFD");            // an overlong slash
  EXPECT_EQ(escape_xml("\xef\xbf\xbf"), "\uFFFD\uFFFD\uFFFD");  // U+FFFF
  EXPECT_EQ(escape_xml("cut \xe6\x97"), "cut \uFFFD\uFFFD");
  EXPECT_EQ(escape_xml("葉 Blätter Γ*"), "葉 Blätter Γ*");
}

TEST(SvgNumber, IsShortAndPlain) {
  EXPECT_EQ(svg_number(12.5), "12.5");
  EXPECT_EQ(svg_number(100), "100");
  EXPECT_EQ(svg_number(-0.001), "0");
  EXPECT_EQ(svg_number(-3.14159), "-3.14");
  EXPECT_EQ(svg_number(1e6), "1000000");
  EXPECT_EQ(svg_number(240.945, 3), "240.945");
}

TEST(SvgNumber, RoundsAsPrintfDoes) {
  // ISO C, printf: "%.{n}f", its trailing zeros taken away.
  const auto expected = [](double value, int decimals) {
    char buffer[64];
    std::snprintf(buffer, sizeof buffer, "%.*f", decimals, value);
    std::string text = buffer;
    if (decimals > 0) {
      while (text.back() == '0') text.pop_back();
      if (text.back() == '.') text.pop_back();
    }
    return text == "-0" ? "0" : text;
  };
  for (int i = 0; i < 4000; ++i) {
    const double value = 0.0125 * i - 17 + (i % 3 == 0 ? 1e-9 : 0);  // many are halves
    for (const double scale : {1.0, 1e-3, 1e4, 1e9}) {
      for (int decimals = 0; decimals <= 4; ++decimals) {
        EXPECT_EQ(svg_number(scale * value, decimals), expected(scale * value, decimals));
      }
    }
  }
}

TEST(SvgNumber, RefusesWhatIsNoNumber) {
  EXPECT_THROW(svg_number(std::numeric_limits<double>::quiet_NaN()), std::logic_error);
  EXPECT_THROW(svg_number(std::numeric_limits<double>::infinity()), std::logic_error);
}

std::string small_figure(Theme theme) {
  SvgWriter svg(85, 40, theme, "a <title>", "a \"desc\" & more");
  svg.open_group(marker_paint(Shape::circle, Ink::blue), {{"data-curve", "x\"<&"}});
  svg.marker(Shape::circle, 10, 10, 2, {}, {{"data-row", "7"}}, "row 7");
  svg.marker(Shape::triangle, 20, 10, 2);
  svg.close_group();
  svg.line(0, 20, 50, 20, Paint{Ink::none, Ink::ink, 0.5, Dash::dots});
  svg.text(10, 40, "A & Ci", {7});
  return svg.finish();
}

TEST(SvgWriter, WritesWhatItWasGiven) {
  const auto all = fixtures::check_figure(small_figure(Theme::light));
  EXPECT_EQ(all[0].get("width"), "85mm");
  // 85 mm are 240.945 pt (72 pt an inch, 25.4 mm an inch).
  EXPECT_EQ(all[0].get("viewBox"), "0 0 240.945 113.386");
  EXPECT_EQ(all[0].get("font-family"), "DejaVu Sans, sans-serif");
  EXPECT_EQ(all[0].title, "a <title>");
  const auto rows = fixtures::with_attribute(all, "data-row");
  ASSERT_EQ(rows.size(), 1U);
  EXPECT_EQ(rows[0].get("data-row"), "7");
  EXPECT_EQ(rows[0].title, "row 7");
  EXPECT_EQ(fixtures::with_attribute(all, "data-curve").at(0).get("data-curve"), "x\"<&");
  EXPECT_TRUE(fixtures::has_text(all, "A & Ci"));
}

TEST(SvgWriter, SameCallsSameBytes) {
  EXPECT_EQ(small_figure(Theme::light), small_figure(Theme::light));
}

TEST(SvgWriter, OnlyTheAutomaticThemeAsksTheViewer) {
  const std::string light = small_figure(Theme::light);
  const std::string automatic = small_figure(Theme::automatic);
  EXPECT_EQ(light.find("<style>"), std::string::npos);
  EXPECT_EQ(small_figure(Theme::dark).find("<style>"), std::string::npos);
  const std::size_t style = automatic.find("<style>@media (prefers-color-scheme:dark){");
  ASSERT_NE(style, std::string::npos);
  EXPECT_NE(automatic.find(ink_style_rules(true)), std::string::npos);
  // Without the sheet it is the light figure, so a viewer that reads no CSS is served too.
  const std::size_t end = automatic.find("</style>\n") + 9;
  EXPECT_EQ(automatic.substr(0, style) + automatic.substr(end), light);
  fixtures::check_figure(small_figure(Theme::dark), true);
}

TEST(SvgWriter, EveryPaintedMarkHasTheClassOfItsColour) {
  for (const auto& e : read_svg(small_figure(Theme::light))) {
    for (const auto& [key, prefix] : {std::pair{"fill", "f-"}, std::pair{"stroke", "s-"}}) {
      if (!e.has(key) || e.get(key) == "none") continue;
      EXPECT_NE(e.get("class").find(prefix), std::string::npos) << e.name;
    }
  }
}

TEST(SvgWriter, RefusesWhatCouldNotBeRead) {
  SvgWriter svg(85, 40, Theme::light, "t", "d");
  EXPECT_THROW(svg.text(1, 1, "small", {5.9}), std::logic_error);
  EXPECT_THROW(svg.line(0, 0, 1, 1, Paint{Ink::none, Ink::ink, 0.4}), std::logic_error);
  EXPECT_THROW(svg.close_group(), std::logic_error);
  svg.open_group({});
  EXPECT_THROW(svg.finish(), std::logic_error);
  EXPECT_THROW(SvgWriter(0, 40, Theme::light, "t", "d"), std::logic_error);
}

TEST(SvgReader, FindsPlantedFaults) {
  for (const char* bad : {"<a>", "<a></b>", "<a x=1/>", "<a>&</a>", "<a>&nbsp;</a>", "<a/><b/>",
                          "<a x=\"1\" x=\"2\"/>", "<a>\x01</a>", "text", "<a x=\"<\"/>"}) {
    EXPECT_THROW(read_svg(bad), std::runtime_error) << bad;
  }
}

}  // namespace
}  // namespace leafwright
