// Broken column maps: each says where, what was found, and what to do.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "log/log.hpp"
#include "log/map.hpp"

namespace leafwright {
namespace {

struct Broken {
  const char* name;
  const char* toml;
  ErrorCode code;
  std::size_t line;
  std::vector<const char*> said;
};

class BrokenMap : public ::testing::TestWithParam<Broken> {};

TEST_P(BrokenMap, SaysWhereAndWhat) {
  const auto map = read_map(GetParam().toml, "m.toml");
  ASSERT_FALSE(map) << "was read";
  const Error& error = map.error();
  EXPECT_EQ(error.code, GetParam().code) << error.text();
  EXPECT_EQ(error.place.file, "m.toml");
  EXPECT_EQ(error.place.line, GetParam().line) << error.text();
  EXPECT_FALSE(error.expected.empty()) << error.text();
  for (const char* text : GetParam().said) {
    EXPECT_NE(error.text().find(text), std::string::npos) << error.text() << "\nlacks " << text;
  }
}

constexpr auto usage = ErrorCode::usage;
constexpr auto unreadable = ErrorCode::unreadable;

INSTANTIATE_TEST_SUITE_P(
    Maps, BrokenMap,
    ::testing::Values(
        Broken{"NoToml", "[columns\nA = \"a\"\n", unreadable, 1, {}},
        Broken{"TextWithoutQuotes", "[columns]\nA = a\n", unreadable, 2, {}},
        Broken{"SectionTwice", "[columns]\nA = \"a\"\n[columns]\nE = \"e\"\n", unreadable, 3, {}},
        Broken{"SymbolTwice", "[columns]\nA = \"a\"\nA = \"b\"\n", unreadable, 3, {}},
        Broken{"UnknownSection", "[colums]\nA = \"a\"\n", usage, 1, {"colums", "columns"}},
        Broken{"UnknownSymbol", "[columns]\nCO2R = \"a\"\n", usage, 2, {"CO2R", "CO2r"}},
        Broken{"UnknownKey",
               "[columns]\nA = {title = \"a\", units = \"1\"}\n",
               usage,
               2,
               {"units", "unit"}},
        Broken{"NoTitle", "[columns]\nA = {unit = \"umol m-2 s-1\"}\n", unreadable, 2, {"title"}},
        Broken{"TitleIsANumber", "[columns]\nA = 3\n", unreadable, 2, {}},
        Broken{"UnknownUnit",
               "[columns]\nA = {title = \"a\", unit = \"blob\"}\n",
               unreadable,
               2,
               {"blob"}},
        Broken{"UnitOfAnotherDimension",
               "[columns]\nA = {title = \"a\", unit = \"kPa\"}\n",
               unreadable,
               2,
               {"kPa"}},
        Broken{"VolumeFlowWithoutReference",
               "[columns]\nflow = {title = \"q\", unit = \"mL/min\"}\n",
               unreadable,
               2,
               {"mL/min"}},
        Broken{
            "OneColumnForTwoSymbols", "[columns]\nA = \"a\"\nE = \"a\"\n", unreadable, 3, {"'a'"}},
        Broken{"UnitOfAText",
               "[columns]\ndate = {title = \"d\", unit = \"s\"}\n",
               unreadable,
               2,
               {"date"}},
        Broken{"FactorIsAText",
               "[columns]\nA = {title = \"a\", factor = \"minus\"}\n",
               unreadable,
               2,
               {"factor"}},
        Broken{"ConstantOfAnotherDimension",
               "[constants]\narea = \"6 kPa\"\n",
               unreadable,
               2,
               {"area"}},
        Broken{"ConstantWithoutNumber", "[constants]\narea = \"cm2\"\n", unreadable, 2, {}},
        Broken{"UnknownConstant", "[constants]\nleaf_size = \"6 cm2\"\n", usage, 2, {"leaf_size"}},
        Broken{"UnknownDelimiter", "[layout]\ndelimiter = \"pipe\"\n", unreadable, 2, {"pipe"}},
        Broken{"DecimalIsAWord", "[layout]\ndecimal = \"comma mark\"\n", unreadable, 2, {}},
        Broken{"HeaderRowIsAText", "[layout]\nheader_row = \"first\"\n", unreadable, 2, {}},
        Broken{"UnknownEncoding", "[layout]\nencoding = \"ebcdic\"\n", unreadable, 2, {"ebcdic"}},
        Broken{"UnknownLayoutKey", "[layout]\nseparator = \"tab\"\n", usage, 2, {"separator"}}),
    [](const auto& tested) { return std::string(tested.param.name); });

TEST(BrokenMap, AColumnThatTheLogDoesNotHave) {
  const auto map = read_map("[columns]\nA = \"net\"\n", "m.toml");
  ASSERT_TRUE(map) << map.error().text();
  auto table = read_table("nett,Ci\n1,2\n2,3\n", "log.csv");
  ASSERT_TRUE(table);
  const auto log = read_log(std::make_shared<const Table>(std::move(*table)), *map);
  ASSERT_FALSE(log);
  EXPECT_NE(log.error().text().find("'net'"), std::string::npos) << log.error().text();
  EXPECT_NE(log.error().text().find("nett"), std::string::npos) << log.error().text();
}

TEST(BrokenMap, WhatIsWrittenIsReadBack) {
  const auto map = read_map(
      "[columns]\nA = {title = \"net \\\"x\\\"\", unit = \"mol m-2 s-1\", factor = -1}\nPatm = "
      "\"#7\"\n[constants]\narea = \"6 cm2\"\n[layout]\ndecimal = \",\"\n",
      "m.toml");
  ASSERT_TRUE(map) << map.error().text();
  const auto again = read_map(map_toml(*map), "again.toml");
  ASSERT_TRUE(again) << again.error().text();
  ASSERT_EQ(again->columns.size(), map->columns.size());
  for (std::size_t i = 0; i < map->columns.size(); ++i) {
    EXPECT_EQ(again->columns[i].symbol, map->columns[i].symbol);
    EXPECT_EQ(again->columns[i].title, map->columns[i].title);
    EXPECT_EQ(again->columns[i].unit, map->columns[i].unit);
    EXPECT_EQ(again->columns[i].factor, map->columns[i].factor);
  }
  EXPECT_EQ(again->constants.front().value, map->constants.front().value);
  EXPECT_EQ(again->layout.decimal, map->layout.decimal);
}

}  // namespace
}  // namespace leafwright
