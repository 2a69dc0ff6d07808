// Time zones by name, from the operating system's zone data (IANA). The core only sees a rule.
#pragma once

#include <string>

#include "base/error.hpp"
#include "log/time.hpp"

namespace leafwright {

/// The rule of a zone such as "Europe/Berlin" or "UTC". Errors: usage, for a name that is not known
/// (with the nearest one); unreadable, where the system has no zone data.
Result<ZoneRule> zone_rule(const std::string& name);

}  // namespace leafwright
