// Files in: the whole of a file as bytes.
#pragma once

#include <string>

#include "base/error.hpp"

namespace leafwright {

/// All bytes of the file at `path`. Errors: unreadable, where there is no such file (with the
/// nearest name in its folder), it is a folder, may not be read, is empty, or the disk fails.
Result<std::string> read_file(const std::string& path);

}  // namespace leafwright
