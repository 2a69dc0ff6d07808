// What `leafwright look` found, as JSON and for a terminal.
#pragma once

#include <span>
#include <string>

#include "log/look.hpp"

namespace leafwright {

/// {"leafwright", "schema", "command": "look", "file", "layout", "rows", "columns": [{"title",
/// "unit", "symbol", "evidence", ...}], "proof": {"A": {"agrees", "median_difference", "n"}, ...},
/// "proved", "findings": [...], "problems": [...], "notes": [...]} for one log; for several, the
/// same objects in "logs". Unknown is null.
std::string look_json(std::span<const LookReport> logs);

/// For people; not a format.
std::string look_text(const LookReport& log);

}  // namespace leafwright
