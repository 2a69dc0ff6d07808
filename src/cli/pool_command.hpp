// `leafwright pool`: fits of single leaves -> means of their groups.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command pool_command();

}  // namespace leafwright::cli
