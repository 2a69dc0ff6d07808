// leafwright one-point: Vcmax from single records at saturating light.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command one_point_command();

}  // namespace leafwright::cli
