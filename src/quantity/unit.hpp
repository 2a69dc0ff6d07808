// Units as people write them, and the only conversions between them that are honest.
//
// A unit is a product of named factors with whole powers, times a scale: "umol m-2 s-1",
// "mmol/m2/s", "μmol·m^-2·s^-1", "µmol m⁻² s⁻¹" and "umol CO2 m-2 s-1" are one unit. Both micro
// signs (U+00B5, U+03BC) and the letter u are read. Names are case-sensitive, because case carries
// meaning (mmol, Mmol). "N/A", "1" and "-" mean a pure number, "%" a hundredth of it.
//
// A volume flow becomes an amount flow only with its reference, which belongs to the unit:
// "mL/min at 0 degC, 101.325 kPa" (ideal gas, R = 8.314462618 J mol-1 K-1, CODATA 2018).
//
// An unknown, ambiguous or damaged unit is an error that names known ones, never a guess.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"

namespace leafwright {

/// What is measured, as powers of the base quantities. Amount fractions (mol mol-1) and pure
/// ratios (%, 1) have no powers; `fraction` tells them apart, because "%" does not say of what.
struct Dimension {
  int amount = 0, length = 0, mass = 0, time = 0, temperature = 0;
  bool fraction = false;
  friend bool operator==(const Dimension&, const Dimension&) = default;
  /// For people: "flux of an amount per area", "pressure", "amount fraction", ...
  [[nodiscard]] std::string name() const;
};

/// value in SI = (value + offset) * scale * 10^power. Powers of ten are kept apart from the scale
/// so that a change of prefix is one correctly rounded multiplication or division.
struct Unit {
  std::string text;  ///< as written, trimmed
  Dimension dimension;
  double scale = 1;
  int power = 0;
  double offset = 0;    ///< 273.15 for degC, else 0
  std::string caution;  ///< what the reader must know ("ppm" does not say moist or dry); may be ""
};

/// Error: unreadable, saying what part is not known and which units are.
Result<Unit> parse_unit(std::string_view text);

/// The unit of a table that ships with the program; a mistake there throws std::logic_error.
Unit known_unit(std::string_view text);

/// How numbers in one unit become numbers in another.
class Conversion {
 public:
  Conversion() = default;  ///< leaves numbers as they are
  [[nodiscard]] double operator()(double value) const;
  [[nodiscard]] bool changes_nothing() const;

 private:
  friend Result<Conversion> conversion(const Unit& from, const Unit& to);
  double before_ = 0, ratio_ = 1, tens_ = 1, after_ = 0;
  bool divide_ = false;
};

/// Error: unreadable, for units of different dimension. It says what is missing where one further
/// value would make the conversion possible (a pressure, a reference temperature, a lamp).
Result<Conversion> conversion(const Unit& from, const Unit& to);

/// A number followed by its unit, as in instrument files: "40 cm3", "-2.5 umol mol-1".
struct Measured {
  double value = 0;
  Unit unit;
};
/// Errors: unreadable, no number in front or no (known) unit behind it.
Result<Measured> parse_measured(std::string_view text);

/// The units that messages name as known, in the order of docs.
const std::vector<std::string>& example_units();

}  // namespace leafwright
