// How the text of a unit is taken apart. Used by unit.cpp only.
//
//   unit    = factor { (blank | "*" | ".") factor | "/" ( factor | "(" unit ")" ) }
//   factor  = [prefix] name [ ["^" | "**"] [sign] digits ] [substance]
//
// A substance (CO2, H2O, O2, air, photons, quanta) may follow an amount and does not change it.
// After "/", a further factor without a negative power is refused: "J/mol K" has two readings.
#pragma once

#include <string>
#include <string_view>

#include "base/error.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

/// The unit with ASCII letters, digits and signs only: micro signs become "u", superscripts plain
/// digits, middle dots "*", degree signs "deg". Error: unreadable, where the text was damaged by a
/// wrong character encoding or holds another character.
Result<std::string> unit_text_in_ascii(std::string_view text);

/// A product of factors, or why it is none: `unknown` is the part that is not a known name,
/// `problem` another fault (with what was `expected`). At most one of them is set.
struct ProductOrProblem {
  Unit unit;
  std::string unknown;
  std::string problem;
  std::string expected;
};
ProductOrProblem parse_unit_product(std::string_view ascii);

}  // namespace leafwright
