// Text as figures need it: safe UTF-8, widths for layout, wrapping, and numbers and units as a
// reader wants them. Nothing here depends on a locale.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace leafwright {

/// Valid UTF-8 without characters that XML 1.0 forbids; what is not valid becomes U+FFFD.
std::string clean_utf8(std::string_view text);

/// Width in pt of one line at `size` pt: the advance widths of DejaVu Sans (a wide face, so a
/// fallback font seldom needs more), estimated outside ASCII.
double text_width(std::string_view text, double size, bool bold = false);

/// `text` if it fits `width` pt, else its beginning and end around an ellipsis.
std::string shorten(std::string_view text, double width, double size, bool bold = false);

/// Lines no wider than `width` pt, broken at spaces, or inside a word too long for a line.
std::vector<std::string> wrap(std::string_view text, double width, double size, bool bold = false);

/// "umol m-2 s-1" -> "µmol m⁻² s⁻¹", "degC" -> "°C"; anything else unchanged. Blanks become
/// no-break spaces, so that a unit stays on one line.
std::string pretty_unit(std::string_view unit);

/// At most `digits` significant digits, short, with a real minus sign: "61.2", "−0.31", "1.5e6".
/// A value that is not finite throws std::logic_error: missing values are said in words.
std::string pretty_number(double value, int digits = 4);

}  // namespace leafwright
