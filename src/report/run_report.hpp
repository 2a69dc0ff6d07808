// What a whole study adds to the report of its fits: the logs, where values came from and where
// sources disagree, and every row that was left out or marked.
#pragma once

#include <string>

#include "report/run_document.hpp"

namespace leafwright {

/// Sections of HTML with the ids "logs" and "screening".
std::string run_sections(const RunDocument& run);

/// For a terminal: a line per log, then sources that disagree and what screening left out.
std::string run_text(const RunDocument& run);

}  // namespace leafwright
