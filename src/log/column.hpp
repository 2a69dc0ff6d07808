// A column of a table as a quantity: found by its name, converted to the internal unit.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"
#include "table/table.hpp"

namespace leafwright {

/// Reads cells of one column in `unit`. A block that states no unit is taken to be in `unit`
/// already (that of the reporting format), and `assumed_unit()` says so.
class QuantityColumn {
 public:
  /// `name` is looked up exactly; on a miss the error names the nearest column or symbol. Errors:
  /// unreadable, for a column that is not there or twice, or a unit that is unknown or of another
  /// dimension (with the place of the unit).
  static Result<QuantityColumn> find(const Table& table, std::string_view name,
                                     std::string_view unit);

  /// The value in a row; empty where missing. Error: unreadable, not a number.
  [[nodiscard]] Result<std::optional<double>> read(std::size_t row) const;
  [[nodiscard]] std::size_t column() const { return column_; }
  [[nodiscard]] const std::string& name() const { return table_->name(column_); }
  [[nodiscard]] Place place(std::size_t row) const { return table_->place(column_, row); }
  [[nodiscard]] bool assumed_unit() const { return assumed_; }
  /// What a unit such as "ppm" leaves open.
  [[nodiscard]] const Notes& notes() const { return notes_; }

 private:
  QuantityColumn(const Table& table, std::size_t column) : table_(&table), column_(column) {}
  const Table* table_;
  std::size_t column_;
  std::vector<Conversion> conversions_;  // one per block
  bool assumed_ = false;
  Notes notes_;
};

/// "no column 'Ci'" with the nearest column ("ci") or what the file has.
Error missing_column(const Table& table, std::string_view name, std::string expected);

/// `file:line` for messages that name a row.
std::string line_text(const Place& place);

}  // namespace leafwright
