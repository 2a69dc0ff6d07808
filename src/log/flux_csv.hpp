// Rows of fluxes as a table: every row of the log in order with all its columns, then the computed
// ones (docs/formats/flux.md).
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "log/flux.hpp"

namespace leafwright {

struct FluxColumn {
  std::string name;
  std::string unit;     ///< "" for text and marks
  std::string meaning;  ///< "as in the log" for carried columns
};

struct FluxTable {
  std::string csv;
  std::vector<FluxColumn> columns;  ///< in order
};

/// CSV as bytes: comma, LF, no units row. A column of the log whose name is that of a computed one
/// moves to NAME_recorded. A unit that the log stated in a units row goes into the title's
/// brackets, so that nothing is lost; a decimal comma becomes a point. Where the map gave a
/// quantity another title (Tleaf, Patm, Qin), it is there once more under its own name. Errors:
/// refused, where NAME_recorded is there already, or a column has different units in different
/// blocks.
Result<FluxTable> flux_table(const FluxSource& source, const FluxRows& rows);

}  // namespace leafwright
