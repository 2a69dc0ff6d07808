// The proof of a look: by the titles and the map that is given. Used by
// look.cpp.
#pragma once

#include "log/look.hpp"

namespace leafwright {

/// Fills proof, proved, map and the evidence of the columns.
void look_at_proof(const Table& table, const ColumnMap& known, LookReport& report);

}  // namespace leafwright
