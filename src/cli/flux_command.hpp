// `leafwright flux`: fluxes from the mole fractions of a log.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command flux_command();

}  // namespace leafwright::cli
