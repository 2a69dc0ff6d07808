// A column map: which column of a foreign log is which quantity, and in which unit. It is data, in
// TOML (docs/formats/maps.md); log.hpp applies it.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
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
  double factor = 1;  ///< of the numbers as they stand, before the unit: -1 turns a sign
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

/// Reads a map. `file` is used in messages only.
///   [columns]
///   A = {title = "net flux", unit = "umol m-2 s-1"}   unit and factor may be left out
///   date = "day"                                      the title alone
///   [constants]
///   area = "6 cm2"                                    or 6, in the unit of the symbol
///   [layout]
///   delimiter, decimal, header_row, units_row, encoding, sheet
/// Errors, all with their place: usage, for a key or symbol that is not known (with the nearest
/// one); unreadable, for text that is no TOML, a value of the wrong type, a unit that is not known
/// or of another dimension, or one column mapped to two symbols.
Result<ColumnMap> read_map(std::string_view toml, const std::string& file);

/// The map as TOML that read_map reads back to the same. `comments` stand beside the symbols they
/// are keyed by; the one keyed "" goes first, a line of the file for each of its lines.
std::string map_toml(const ColumnMap& map, const std::map<std::string, std::string>& comments = {});

}  // namespace leafwright
