// Responses in the report of a whole study.
#pragma once

#include <string>

#include "base/error.hpp"
#include "fit/response_table.hpp"

namespace leafwright {

/// HTML: a table of all estimates, a figure per response with its equation, source, what was left
/// out and notes; a sentence for each that could not be fitted. Errors: those of the figures.
Result<std::string> response_section(const ResponseRun& run);

}  // namespace leafwright
