// `leafwright look`: what is in a log.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command look_command();

}  // namespace leafwright::cli
