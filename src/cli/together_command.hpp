// `leafwright together`: the leaves of a group fitted together.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command together_command();

}  // namespace leafwright::cli
