// A column map: which column of a foreign log is which quantity, and in which unit. It is data, in
// TOML (docs/formats/maps.md); log.hpp applies it.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "table/layout.hpp"

namespace leafwright {

/// One column: `symbol` of quantity/symbol.hpp stands under `title` in the log.
struct MappedColumn {
  std::string symbol;
  std::string title;  ///< as in the log, with or without its unit in brackets; "#3": third column
  std::string unit;   ///< "" : as the log states it, else that of the symbol, which is noted
  Place place;        ///< in the map, for messages
};

/// One value that holds for every row of the log: `area = "6 cm2"`.
struct MappedConstant {
  std::string symbol;
  double value = 0;  ///< in the symbol's unit
  Place place;
};

struct ColumnMap {
  std::string file;  ///< for messages; "" where the program made it
  std::vector<MappedColumn> columns;
  std::vector<MappedConstant> constants;
  LayoutChoice layout;
  std::optional<std::string> sheet;  ///< of a spreadsheet
};

}  // namespace leafwright
