// SHA-256 (FIPS 180-4): names the exact bytes that results were made from, so that a reader years
// later can tell whether a file is the one that was fitted. Not used for secrets.
//
// Our own because the core has to build for browsers and for Windows with headers alone, and no
// header-only library of Debian has it.
#pragma once

#include <string>
#include <string_view>

namespace leafwright {

/// 64 lower-case hexadecimal digits.
std::string sha256(std::string_view bytes);

}  // namespace leafwright
