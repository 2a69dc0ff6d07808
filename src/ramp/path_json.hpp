// A gas path read back from the JSON that `leafwright path` writes (docs/formats/path.md), so that
// one empty record serves many leaves.
#pragma once

#include <string>
#include <string_view>

#include "base/error.hpp"
#include "ramp/gas_path.hpp"

namespace leafwright {

/// Residuals and traces are not in the file and stay empty. `file` is used in messages only.
/// Errors: unreadable, for text that is no JSON, another schema or command, or a member that is
/// missing or of the wrong kind (named).
Result<GasPath> read_path(std::string_view json, const std::string& file);

}  // namespace leafwright
