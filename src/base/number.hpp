// Numbers as text, in one place: every room reads and prints doubles through here, so that no
// locale, compiler or standard library changes a value.
//
// Reading accepts what a log or a user writes: an optional sign, digits, the decimal mark, an
// exponent ("12", "-.5", "5.", "1e-3"). It refuses everything else: thousands separators, hex,
// "inf" and "nan", blanks inside, and values too large for a double.
// Printing gives the shortest text that reads back as the same double.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace leafwright {

/// The finite number that the whole of `text` stands for, with `decimal` ('.' or ',') as the
/// decimal mark; empty where it is not one. Blanks are not skipped. A mark with no digit after it
/// is accepted for '.', not for ',' ("1," is a list, not a number).
std::optional<double> parse_number(std::string_view text, char decimal = '.');

/// The shortest text that reads back as `value`: 0.1 -> "0.1", 1e21 -> "1e+21", -0.0 -> "0".
/// A value that is not finite is missing, and prints as "": NaN never appears as text.
std::string print_number(double value);
std::string print_number(std::optional<double> value);

/// For people: at most `digits` significant digits, without trailing zeros ("" if not finite).
std::string print_rounded(double value, int digits);

}  // namespace leafwright
