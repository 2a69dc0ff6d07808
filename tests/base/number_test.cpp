#include "base/number.hpp"

#include <gtest/gtest.h>

#include <clocale>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <limits>

namespace leafwright {
namespace {

TEST(Number, ReadsWhatLogsWrite) {
  EXPECT_EQ(parse_number("12"), 12.0);
  EXPECT_EQ(parse_number("-.5"), -0.5);
  EXPECT_EQ(parse_number("+5."), 5.0);
  EXPECT_EQ(parse_number("1e-3"), 0.001);
  EXPECT_EQ(parse_number("1.5E2"), 150.0);
  EXPECT_EQ(parse_number("1,5", ','), 1.5);
  EXPECT_EQ(parse_number("-0,25e1", ','), -2.5);
}

TEST(Number, RefusesEverythingElse) {
  for (const char* text :
       {"",      "-",       "+",    "+-1",   "--1", "abc",  "1 ",  " 1",   "1 2",
        "1,5",   "1,234.5", "0x10", "nan",   "NaN", "-nan", "inf", "-inf", "infinity",
        "1e999", "1e",      "1..2", "12kPa", ".",   "-.",   "1d3"}) {
    EXPECT_FALSE(parse_number(text)) << "'" << text << "'";
  }
  for (const char* text : {"1,", ",", "1.5", "1,2,3", "1.234,5", "1,e5"}) {
    EXPECT_FALSE(parse_number(text, ',')) << "'" << text << "'";
  }
}

TEST(Number, PrintsTheShortestTextThatReadsBack) {
  EXPECT_EQ(print_number(0.1), "0.1");
  EXPECT_EQ(print_number(5.0), "5");
  EXPECT_EQ(print_number(-0.0), "0");
  EXPECT_EQ(print_number(1e21), "1e+21");
  EXPECT_EQ(print_number(0.1 + 0.2), "0.30000000000000004");
  EXPECT_EQ(print_rounded(61.23456, 4), "61.23");
}

TEST(Number, RoundedIsWhatPrintfSays) {
  // ISO C, printf: "%.{n}g". Powers of ten, halves and nines are where a short way would go wrong.
  const auto expect = [](double value, int digits) {
    char text[64];
    std::snprintf(text, sizeof text, "%.*g", digits, value);
    EXPECT_EQ(print_rounded(value, digits), text) << value;
  };
  std::uint64_t bits = 0x0123456789ABCDEFULL;
  for (int i = 0; i < 20000; ++i) {
    bits = bits * 6364136223846793005ULL + 1442695040888963407ULL;
    const double share = static_cast<double>(bits >> 11) / 9007199254740992.0;
    const int power = i % 19 - 6;
    const double value = (i % 2 == 0 ? 1 : -1) * share * std::pow(10, power);
    expect(value, 1 + i % 12);
    const double coarse = std::round(value * 1000) / 1000;  // few digits, as logs have them
    if (coarse != 0) expect(coarse, 1 + i % 12);
  }
  for (int power = -6; power <= 12; ++power) {
    for (const double near : {1.0, 1 - 1e-15, 1 + 1e-15, 0.99995, 0.999995, 9.5, 2.5, 1.25, 0.5}) {
      for (int digits = 1; digits <= 12; ++digits) expect(near * std::pow(10, power), digits);
    }
  }
}

TEST(Number, MissingIsEmptyNeverNan) {
  EXPECT_EQ(print_number(std::numeric_limits<double>::quiet_NaN()), "");
  EXPECT_EQ(print_number(std::numeric_limits<double>::infinity()), "");
  EXPECT_EQ(print_number(std::optional<double>()), "");
  EXPECT_EQ(print_rounded(std::nan(""), 3), "");
}

TEST(Number, EveryFiniteDoubleComesBack) {
  // A walk through bit patterns with a fixed odd step: signs, subnormals and extremes are met.
  std::uint64_t bits = 0x0123456789ABCDEFULL;
  for (int i = 0; i < 20000; ++i) {
    bits = bits * 6364136223846793005ULL + 1442695040888963407ULL;
    double value = 0;
    std::memcpy(&value, &bits, sizeof value);
    if (!std::isfinite(value)) continue;
    const auto back = parse_number(print_number(value));
    ASSERT_TRUE(back) << print_number(value);
    EXPECT_EQ(*back, value);
  }
  EXPECT_EQ(parse_number(print_number(std::numeric_limits<double>::denorm_min())),
            std::numeric_limits<double>::denorm_min());
  EXPECT_EQ(parse_number(print_number(std::numeric_limits<double>::max())),
            std::numeric_limits<double>::max());
}

TEST(Number, NoLocaleChangesAValue) {
  const char* changed = std::setlocale(LC_ALL, "de_DE.UTF-8");
  if (changed == nullptr) changed = std::setlocale(LC_ALL, "");  // whatever the machine has
  EXPECT_EQ(print_number(1.5), "1.5");
  EXPECT_EQ(parse_number("1.5"), 1.5);
  std::setlocale(LC_ALL, "C");
}

}  // namespace
}  // namespace leafwright
