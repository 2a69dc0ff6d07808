// `leafwright settings` and `leafwright help`: what can be set, and what there is to call.
#pragma once

#include <string>

#include "cli/command.hpp"

namespace leafwright::cli {

Command settings_command();
Command help_command();

/// docs/settings.md, whole: the settings of every command, each once.
std::string settings_page();

}  // namespace leafwright::cli
