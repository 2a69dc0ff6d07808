// --help, and docs/commands.md from the same words.
#pragma once

#include <string>

#include "cli/command.hpp"

namespace leafwright::cli {

/// What `leafwright COMMAND --help` prints.
std::string command_help(const Command& command);

/// What `leafwright --help` prints; `leafwright` alone prints the same to standard error.
std::string program_help();

/// docs/commands.md, whole.
std::string commands_markdown();

}  // namespace leafwright::cli
