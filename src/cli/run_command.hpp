// `leafwright run`: a whole study.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command run_command();

}  // namespace leafwright::cli
