// A file or standard input as bytes.
#pragma once

#include <string>

#include "base/error.hpp"

namespace leafwright::cli {

/// The whole of a file, or of standard input for "-". Error: unreadable.
Result<std::string> read_input(const std::string& path);

/// What messages call it: the path, or "standard input".
std::string input_name(const std::string& path);

}  // namespace leafwright::cli
