#include "log/instrument.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

Instrument good(const std::string& toml) {
  const auto read = read_instrument(toml, "chamber.toml");
  EXPECT_TRUE(read) << read.error().text();
  return read.value_or(Instrument{});
}

TEST(Instrument, ReadsEveryKeyInAnyUnit) {
  const Instrument i = good(R"(
serial = "A-17"
chamber_volume = "0.08 L"
inlet_volume = "5 cm3"
cell_flow = "0.2 L/min"
leak = "0.4 umol s-1"
water_leak = "3 umol/s"
overpressure = "100 Pa"
gbw = "2.5 mol m-2 s-1"
gbw_is = "per side"
vapour_pressure = "buck-1981"
area = "6e-4 m2"
stomatal_ratio = 0.5
co2_per = "dry air"
coolest_wall = "296.15 K"
[noise]
CO2r = "0.1 umol mol-1"
Tleaf = "0.2 K"
area = "10 mm2"
[channels]
all = {averaging = "2 s", stamp = "end"}
CO2s = {averaging = "4 s", stamp = "start"}
)");
  EXPECT_EQ(i.file, "chamber.toml");
  EXPECT_EQ(i.serial, "A-17");
  EXPECT_DOUBLE_EQ(*i.chamber_volume, 80);
  EXPECT_DOUBLE_EQ(*i.inlet_volume, 5);
  EXPECT_DOUBLE_EQ(*i.cell_flow, 200);
  EXPECT_DOUBLE_EQ(*i.leak, 0.4);
  EXPECT_DOUBLE_EQ(*i.water_leak, 3);
  EXPECT_DOUBLE_EQ(*i.overpressure, 0.1);
  EXPECT_DOUBLE_EQ(*i.gbw, 2500);
  EXPECT_EQ(*i.gbw_is, GbwIs::per_side);
  EXPECT_EQ(*i.vapour_pressure, VapourPressure::buck_1981);
  EXPECT_DOUBLE_EQ(*i.area, 6);
  EXPECT_DOUBLE_EQ(*i.stomatal_ratio, 0.5);
  EXPECT_EQ(*i.co2_per, Co2Per::dry_air);
  EXPECT_NEAR(*i.coolest_wall, 23, 1e-9);
  EXPECT_DOUBLE_EQ(i.noise.at("CO2r"), 0.1);
  EXPECT_DOUBLE_EQ(i.noise.at("Tleaf"), 0.2);
  EXPECT_DOUBLE_EQ(i.noise.at("area"), 0.1);
  // The middle of a mean of 4 s that is stamped at its start is 2 s later; of 2 s at its end, 1 s
  // earlier.
  EXPECT_DOUBLE_EQ(i.timing("CO2s")->to_middle(), 2);
  EXPECT_DOUBLE_EQ(i.timing("CO2r")->to_middle(), -1);
}

TEST(Instrument, AnEmptyFileStatesNothing) {
  const Instrument i = good("# nothing\n");
  EXPECT_FALSE(i.chamber_volume || i.leak || i.gbw_is || i.area);
  EXPECT_FALSE(i.timing("CO2r"));
}

struct Broken {
  const char* toml;
  ErrorCode code;
  std::size_t line, column;
  const char* says;
};

TEST(Instrument, EveryMistakeWithItsPlaceAndWhatToDo) {
  const Broken all[] = {
      {"chamber_volume = \"80 mL\nleak = 1", ErrorCode::unreadable, 1, 24, "no TOML"},
      {"serial = \"a\"\nchamber_volumes = \"80 mL\"", ErrorCode::usage, 2, 1,
       "did you mean 'chamber_volume'?"},
      {"chamber_volume = 80", ErrorCode::unreadable, 1, 18, "the number 80, without a unit"},
      {"chamber_volume = \"80\"", ErrorCode::unreadable, 1, 18, "chamber_volume = '80'"},
      {"chamber_volume = \"80 kPa\"", ErrorCode::unreadable, 1, 18, "pressure"},
      {"chamber_volume = \"-80 mL\"", ErrorCode::unreadable, 1, 18, "more than 0 cm3"},
      {"chamber_volume = \"0 mL\"", ErrorCode::unreadable, 1, 18, "more than 0 cm3"},
      {"cell_flow = \"200 blurbs\"", ErrorCode::unreadable, 1, 13, "blurbs"},
      {"overpressure = \"30 kPa\"", ErrorCode::unreadable, 1, 16, "-5 to 20 kPa"},
      {"leak = [\"1 umol s-1\"]", ErrorCode::unreadable, 1, 8, "leak is a list"},
      {"gbw_is = \"both\"", ErrorCode::unreadable, 1, 10, "per side"},
      {"gbw_is = 1", ErrorCode::unreadable, 1, 10, "a text in quotes"},
      {"vapour_pressure = \"best\"", ErrorCode::unreadable, 1, 19, "leaf-common"},
      {"stomatal_ratio = \"0.5\"", ErrorCode::unreadable, 1, 18, "without quotes"},
      {"stomatal_ratio = -1", ErrorCode::unreadable, 1, 18, "at least 0"},
      {"stomatal_ratio = nan", ErrorCode::unreadable, 1, 18, "no finite number"},
      {"serial = 17", ErrorCode::unreadable, 1, 10, "a text in quotes"},
      {"noise = 1", ErrorCode::unreadable, 1, 9, "[noise]"},
      {"[noise]\nCO2 = \"1 umol mol-1\"", ErrorCode::usage, 2, 1, "unknown key 'CO2' in [noise]"},
      {"[noise]\nCO2r = \"-1 umol mol-1\"", ErrorCode::unreadable, 2, 8, "at least 0"},
      {"[channels]\nCO2q = {}", ErrorCode::usage, 2, 1, "unknown key 'CO2q' in [channels]"},
      {"[channels]\nCO2r = \"1 s\"", ErrorCode::unreadable, 2, 8, "averaging"},
      {"[channels]\nCO2r = {averaging = \"1 s\"}", ErrorCode::unreadable, 2, 8, "lacks stamp"},
      {"[channels]\nCO2r = {averaging = \"1 s\", stamp = \"late\"}", ErrorCode::unreadable, 2, 36,
       "start, middle or end"},
      {"[channels]\nCO2r = {average = \"1 s\"}", ErrorCode::usage, 2, 9,
       "unknown key 'average' of CO2r"},
  };
  for (const Broken& one : all) {
    const auto read = read_instrument(one.toml, "chamber.toml");
    ASSERT_FALSE(read) << one.toml;
    EXPECT_EQ(read.error().code, one.code) << one.toml;
    EXPECT_EQ(read.error().place.file, "chamber.toml");
    EXPECT_EQ(read.error().place.line, one.line) << one.toml;
    EXPECT_EQ(read.error().place.column, one.column) << one.toml;
    EXPECT_NE(read.error().text().find(one.says), std::string::npos) << one.toml << "\n"
                                                                     << read.error().text();
  }
}

}  // namespace
}  // namespace leafwright
