// Why a text is not a number: used for detection and for messages.
#pragma once

#include <string_view>

namespace leafwright {

/// One to three digits, then groups of a comma and three digits ("12,345", "-1,234,567"), with no
/// leading zero: could be thousands. "0,123" and "1013,250" could not.
bool may_hold_thousands(std::string_view text, char separator = ',');

}  // namespace leafwright
