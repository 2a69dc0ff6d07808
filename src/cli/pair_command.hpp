#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command pair_command();

}  // namespace leafwright::cli
