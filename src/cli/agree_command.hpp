// `leafwright agree`: do two methods on the same leaves agree?
#pragma once

#include "cli/command.hpp"

namespace leafwright::cli {

Command agree_command();

}  // namespace leafwright::cli
