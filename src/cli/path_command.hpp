// `leafwright path`: the gas path from records of the empty chamber.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command path_command();

}  // namespace leafwright::cli
