// leafwright ramp: points of A against Ci from a leaf's ramp.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command ramp_command();

}  // namespace leafwright::cli
