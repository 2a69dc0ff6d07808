// Command lines to calls.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cli/command.hpp"

namespace leafwright::cli {

/// A call, or nothing where --help was asked for. Every option that every command has (help, quiet)
/// is added here. Errors: usage, for an unknown option (with the nearest one), an option given
/// twice that takes one value, a value that its setting does not accept.
Result<std::optional<Call>> parse_call(const Command& command, std::vector<std::string> arguments);

}  // namespace leafwright::cli
