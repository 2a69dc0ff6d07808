#include "quantity/symbol.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <sstream>

namespace leafwright {
namespace {

// Name and unit of each variable in the format's own dictionary (Ely et al. 2021; the file is
// Latin-1, first two fields never quoted). Read here by hand, apart from the program's own reader.
std::vector<std::pair<std::string, std::string>> dictionary() {
  std::ifstream file(LEAFWRIGHT_SOURCE_DIR
                     "/tests/published/data/reporting_format/leaf_gasex_defined_variables_dd.csv",
                     std::ios::binary);
  std::vector<std::pair<std::string, std::string>> out;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    std::istringstream fields(line);
    std::string name, unit;
    std::getline(fields, name, ',');
    std::getline(fields, unit, ',');
    std::string utf8;
    for (const char c : unit) {
      if (static_cast<unsigned char>(c) >= 0x80) utf8 += '\xC2';  // 0xB0 and 0xB5 only
      utf8 += c;
    }
    out.emplace_back(name, utf8);
  }
  return out;
}

TEST(Symbols, AreThoseOfTheReportingFormat) {
  const auto expected = dictionary();
  ASSERT_EQ(expected.size(), 64U);
  std::size_t index = 0;
  for (const Symbol& symbol : symbols()) {
    if (symbol.source != SymbolSource::reporting_format) continue;
    ASSERT_LT(index, expected.size());
    const auto& [name, unit] = expected[index++];
    EXPECT_EQ(symbol.name, name);
    if (unit == "YYYY-MM-DD") {
      EXPECT_EQ(symbol.kind, SymbolKind::date);
      continue;
    }
    if (unit == "HH:MM:SS") {
      EXPECT_EQ(symbol.kind, SymbolKind::time);
      continue;
    }
    const auto theirs = parse_unit(unit);
    ASSERT_TRUE(theirs) << name << ": " << theirs.error().text();
    const auto convert = conversion(*theirs, known_unit(symbol.unit));
    ASSERT_TRUE(convert) << name << ": " << convert.error().text();
    EXPECT_TRUE(convert->changes_nothing()) << name;
  }
  EXPECT_EQ(index, expected.size());
}

TEST(Symbols, NamesAreUniqueAndUnitsKnown) {
  std::set<std::string_view> seen;
  for (const Symbol& symbol : symbols()) {
    EXPECT_TRUE(seen.insert(symbol.name).second) << symbol.name;
    EXPECT_EQ(symbol.unit.empty(), symbol.kind != SymbolKind::number) << symbol.name;
    if (!symbol.unit.empty()) {
      EXPECT_NO_THROW(known_unit(symbol.unit)) << symbol.name;
    }
    if (symbol.plausible) {
      EXPECT_LT(symbol.plausible->low, symbol.plausible->high) << symbol.name;
    }
  }
}

TEST(Symbols, AreFoundByExactNameOnly) {
  ASSERT_NE(find_symbol("Ci"), nullptr);
  EXPECT_EQ(find_symbol("Ci")->unit, "umol mol-1");
  EXPECT_EQ(find_symbol("ci"), nullptr);
  EXPECT_EQ(suggest_symbol("ci"), "did you mean 'Ci'?");
  EXPECT_EQ(suggest_symbol("tleaf"), "did you mean 'Tleaf'?");
  EXPECT_EQ(suggest_symbol("photosynthesis"), "");
}

TEST(Title, OnlyABracketAtTheEndHoldsAUnit) {
  const auto name_and_unit = [](const char* title) {
    const Title parsed = parse_title(title);
    return parsed.name + "|" + parsed.unit;
  };
  EXPECT_EQ(name_and_unit("A (umol m-2 s-1)"), "A|umol m-2 s-1");
  EXPECT_EQ(name_and_unit("A [umol m-2 s-1]"), "A|umol m-2 s-1");
  EXPECT_EQ(name_and_unit("A[µmol m⁻² s⁻¹]"), "A|µmol m⁻² s⁻¹");
  EXPECT_EQ(name_and_unit("E (mmol/(m2 s))"), "E|mmol/(m2 s)");
  EXPECT_EQ(name_and_unit("A_umol"), "A_umol|");
  EXPECT_EQ(name_and_unit("A (net) CO2"), "A (net) CO2|");
  EXPECT_EQ(name_and_unit("(kPa)"), "(kPa)|");
  EXPECT_EQ(name_and_unit("A)"), "A)|");
  EXPECT_EQ(name_and_unit("A ()"), "A|");
  EXPECT_EQ(name_and_unit(""), "|");
}

}  // namespace
}  // namespace leafwright
