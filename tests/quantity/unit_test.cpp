#include "quantity/unit.hpp"

#include <gtest/gtest.h>

#include "base/number.hpp"

namespace leafwright {
namespace {

// The value of 1 (or `value`) in another unit, or the message.
std::string in(const std::string& from, const std::string& to, double value = 1) {
  const auto a = parse_unit(from);
  if (!a) return a.error().text();
  const auto b = parse_unit(to);
  if (!b) return b.error().text();
  const auto convert = conversion(*a, *b);
  if (!convert) return convert.error().text();
  return print_number((*convert)(value));
}

TEST(Unit, SpellingsOfOneUnitAreOneUnit) {
  for (const char* text :
       {"umol m-2 s-1", "µmol m⁻² s⁻¹", "μmol·m^-2·s^-1", "umol/m2/s", "umol/(m2 s)", "µmol/m²/s",
        "umol m^-2 s^-1", "umol m**-2 s**-1", "umol.m-2.s-1", "umol*m-2*s-1", "umol m-2s-1",
        "µmol CO2 m-2 s-1", "µmol(CO2) m-2 s-1", "umol photons m-2 s-1", "µmol m−2 s−1",
        "umol m^{-2} s^{-1}", "  umol  m-2  s-1 ", "µmol m–2 s–1", "umol/m2 s-1"}) {
    EXPECT_EQ(in(text, "umol m-2 s-1", 12.345), "12.345") << text;
  }
  EXPECT_EQ(in("mmol mol⁻¹", "mmol mol-1"), "1");
  EXPECT_EQ(in("mmol H2O mol-1 air", "mmol mol-1"), "1");
  EXPECT_EQ(in("℃", "degC", 25), "25");
  EXPECT_EQ(in("ºC", "degC", 25), "25");
  EXPECT_EQ(in("deg C", "degC", 25), "25");
  EXPECT_EQ(in("cm²", "cm2"), "1");
  EXPECT_EQ(in("N/A", "1"), "1");
}

TEST(Unit, PrefixesChangeNumbersWithOneRounding) {
  EXPECT_EQ(in("mol m-2 s-1", "mmol m-2 s-1", 0.26), "260");
  EXPECT_EQ(in("mmol m-2 s-1", "mol m-2 s-1", 0.1), "0.0001");
  EXPECT_EQ(in("hPa", "kPa", 1013.25), "101.325");
  EXPECT_EQ(in("mbar", "kPa", 1013.25), "101.325");
  EXPECT_EQ(in("Pa", "kPa", 101325), "101.325");
  EXPECT_EQ(in("ubar", "Pa", 400), "40");
  EXPECT_EQ(in("atm", "kPa"), "101.325");  // 101325 Pa by definition (10th CGPM, 1954)
  EXPECT_EQ(in("m2", "cm2", 2), "20000");
  EXPECT_EQ(in("%", "1", 55), "0.55");
  EXPECT_EQ(in("ppm", "umol mol-1", 400), "400");
  EXPECT_EQ(in("min", "s", 2), "120");
  EXPECT_EQ(in("h", "min", 1.5), "90");
  EXPECT_EQ(in("L", "cm3", 0.04), "40");
  EXPECT_EQ(in("nmol mol-1", "umol mol-1", 1500), "1.5");
}

TEST(Unit, CelsiusAndKelvinDifferByAnOffset) {
  EXPECT_EQ(in("K", "degC", 298.15), "25");
  EXPECT_EQ(in("degC", "K", 25), "298.15");
  EXPECT_EQ(in("degC", "degC", 0.1), "0.1");
}

// The molar flow of 500 mL min-1 at 0 degC and 101.325 kPa: 371.79 umol s-1. From the ideal gas law
// by hand: 101325 Pa * 500e-6 m3 / 60 s / (8.314462618 * 273.15 K) = 3.71795e-4 mol s-1.
TEST(Unit, AVolumeFlowWithItsReferenceIsAnAmountFlow) {
  const auto from = parse_unit("mL/min at 0 degC, 101.325 kPa");
  ASSERT_TRUE(from) << from.error().text();
  const auto convert = conversion(*from, known_unit("umol s-1"));
  ASSERT_TRUE(convert);
  EXPECT_NEAR((*convert)(500), 371.79, 0.005);
  for (const char* same : {"mL/min at 101.325 kPa and 273.15 K", "mL min-1 @ 0 °C, 1013.25 hPa"}) {
    const auto other = parse_unit(same);
    ASSERT_TRUE(other) << same << ": " << other.error().text();
    EXPECT_NEAR((*conversion(*other, known_unit("umol s-1")))(500), 371.79, 0.005) << same;
  }
}

TEST(Unit, PpmCarriesACaution) {
  EXPECT_EQ(parse_unit("ppm")->caution,
            "'ppm' does not say of what: read as an amount fraction (umol mol-1)");
  EXPECT_EQ(parse_unit("umol mol-1")->caution, "");
}

TEST(Unit, MeasuredReadsNumberAndUnit) {
  const auto volume = parse_measured("40 cm3");
  ASSERT_TRUE(volume);
  EXPECT_EQ(volume->value, 40);
  EXPECT_EQ(volume->unit.dimension.name(), "volume");
  EXPECT_EQ(parse_measured("-2.5umol mol-1")->value, -2.5);
  EXPECT_EQ(parse_measured("1e-3 m2")->value, 0.001);
  EXPECT_EQ(parse_measured("40").error().text(),
            "'40' has no unit; a number and its unit, as in '40 cm3'");
  EXPECT_EQ(parse_measured("about 40 cm3").error().text(),
            "'about 40 cm3' does not begin with a number; a number and its unit, as in '40 cm3'");
}

const std::string known =
    "a unit such as umol m-2 s-1, mmol m-2 s-1, umol mol-1, mmol mol-1, kPa, degC, cm2, umol s-1, "
    "s";

TEST(UnitErrors, UnknownUnitsAreNamedAndNeverGuessed) {
  EXPECT_EQ(in("kpa", "kPa"), "unit 'kpa' is not known; " + known + "; did you mean 'kPa'?");
  EXPECT_EQ(in("umole m-2 s-1", "kPa"),
            "unit 'umole m-2 s-1' is not known (at 'umole'); " + known + "; did you mean 'umol'?");
  EXPECT_EQ(in("C", "degC"),
            "unit 'C' is not known; " + known + "; write 'degC' if degrees Celsius are meant");
  EXPECT_EQ(in("furlong", "m"), "unit 'furlong' is not known; " + known);
  EXPECT_EQ(in("ppt", "1"), "unit 'ppt' is not known; " + known +
                                "; 'ppt' may be a thousandth or 1e-12: write 'mmol mol-1'");
  EXPECT_EQ(in("sccm", "umol s-1"),
            "unit 'sccm' is not known; " + known +
                "; standard conditions differ between makers: write them, as in "
                "'mL/min at 0 degC, 101.325 kPa'");
  EXPECT_EQ(in("", "m"), "the unit is empty; " + known);
}

TEST(UnitErrors, DamagedTextIsSeen) {
  const std::string what = "; state the file's encoding, or write 'u' for the micro sign";
  EXPECT_EQ(in("Âµmol m-2 s-1", "m"),
            "unit 'Âµmol m-2 s-1' was damaged by a wrong character encoding; " + known + what);
  EXPECT_EQ(
      in("\xEF\xBF\xBDmol mol-1", "m"),
      "unit '\xEF\xBF\xBDmol mol-1' was damaged by a wrong character encoding; " + known + what);
  EXPECT_EQ(in("?mol mol-1", "m"),
            "unit '?mol mol-1' was damaged by a wrong character encoding; " + known + what);
  EXPECT_EQ(in("Ωmol", "m"), "unit 'Ωmol' holds a character that no known unit has; " + known);
}

TEST(UnitErrors, TwoReadingsAreRefused) {
  EXPECT_EQ(in("J/mol K", "m"),
            "unit 'J/mol K' has two readings after the '/' (at 'K'); each divisor with its own "
            "'/' or a negative power, as in 'mmol m-2 s-1'");
  EXPECT_EQ(in("ppm s-1", "m"),
            "unit 'ppm s-1' combines 'ppm' or 'ppb' with other factors; amounts, as in "
            "'umol mol-1'");
}

TEST(UnitErrors, OtherDimensionsSayWhatIsMissing) {
  EXPECT_EQ(in("Pa", "umol mol-1"),
            "'Pa' is a unit of pressure; a unit of amount fraction, such as 'umol mol-1'; an "
            "amount fraction and a partial pressure differ by the air pressure: convert with the "
            "pressure of each record first");
  EXPECT_EQ(in("mL/min", "umol s-1"),
            "'mL/min' is a unit of volume flow; a unit of amount flow, such as 'umol s-1'; a "
            "volume flow must state its reference, as in 'mL/min at 0 degC, 101.325 kPa'");
  EXPECT_EQ(in("W m-2", "umol m-2 s-1"),
            "'W m-2' is a unit of power per area; a unit of flux per area, such as "
            "'umol m-2 s-1'; photons and watts differ by the lamp's spectrum: convert with the "
            "lamp's own factor");
  EXPECT_EQ(in("%", "mmol mol-1"),
            "'%' is a unit of pure ratio; a unit of amount fraction, such as 'mmol mol-1'; '%' "
            "does not say a fraction of what: write 'mol mol-1', 'mmol mol-1' or 'umol mol-1' if "
            "amounts of gas are meant");
  EXPECT_EQ(in("s", "kPa"),
            "'s' is a unit of time; a unit of pressure, such as 'kPa'; correct the unit, or the "
            "column it stands over");
}

TEST(UnitErrors, AReferenceMustBeWhole) {
  EXPECT_EQ(in("mL/min at 0 degC", "umol s-1"),
            "'mL/min at 0 degC' does not state a temperature and a pressure above zero; a full "
            "reference, as in 'mL/min at 0 degC, 101.325 kPa'");
  EXPECT_EQ(in("umol s-1 at 0 degC, 101.325 kPa", "umol s-1"),
            "'umol s-1' is not a volume flow; 'at TEMPERATURE, PRESSURE' only after a volume flow "
            "such as 'mL/min'");
  EXPECT_EQ(in("mL/min at 0 degC, 3 s", "umol s-1"),
            "'3 s' in 'mL/min at 0 degC, 3 s'; one temperature and one pressure, as in "
            "'mL/min at 0 degC, 101.325 kPa'");
}

TEST(UnitErrors, NothingStrangeIsAccepted) {
  for (const char* text :
       {"m0",    "m^",  "m^-",     "m^{2",   "/s",  "s/",       "umol//s",  "(umol)",
        "umol)", "m99", "m-2-2",   "mmin",   "CO2", "umol/(m2", "degC s-1", "2 m",
        "%%",    "at",  "m at at", "1 at 2", "--",  "e",        "u",        "µ"}) {
    EXPECT_FALSE(parse_unit(text)) << text;
  }
}

}  // namespace
}  // namespace leafwright
