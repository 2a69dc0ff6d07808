// `leafwright rehearse`: a simulated log with known truth.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command rehearse_command();

}  // namespace leafwright::cli
