// A file or standard input as bytes.
#pragma once

#include <string>

#include "base/error.hpp"
#include "table/layout.hpp"
#include "table/table.hpp"

namespace leafwright::cli {

/// The whole of a file, or of standard input for "-". Error: unreadable.
Result<std::string> read_input(const std::string& path);

/// Table of a file or of standard input: delimited text or a spreadsheet. Errors: as read_input and
/// open_table.
Result<Table> read_input_table(const std::string& path, const LayoutChoice& layout);

/// What messages call it: the path, or "standard input".
std::string input_name(const std::string& path);

}  // namespace leafwright::cli
