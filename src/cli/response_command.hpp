// leafwright response: temperature, light and stomatal responses.
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command response_command();

}  // namespace leafwright::cli
