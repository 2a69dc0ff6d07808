// A typed log: columns of a table as quantities, each in the one unit of quantity/symbol.hpp.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <limits>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "log/map.hpp"
#include "quantity/unit.hpp"
#include "table/table.hpp"

namespace leafwright {

/// A quantity along the log. Values are in the symbol's unit; missing is not a number, which is
/// never printed.
struct Channel {
  static constexpr std::size_t no_column = std::numeric_limits<std::size_t>::max();
  std::string symbol;
  std::size_t column = no_column;  ///< of the table; none for a constant of the map
  std::string unit;                ///< what the values were converted from
  std::vector<double> values;      ///< one per row
};

class Log {
 public:
  [[nodiscard]] const Table& table() const { return *table_; }
  [[nodiscard]] std::shared_ptr<const Table> shared_table() const { return table_; }
  [[nodiscard]] std::size_t rows() const { return table_->rows(); }
  [[nodiscard]] const std::vector<Channel>& channels() const { return channels_; }
  /// The channel of a symbol, or null.
  [[nodiscard]] const Channel* find(std::string_view symbol) const;
  /// A value; empty where the channel or the value is missing.
  [[nodiscard]] std::optional<double> value(std::string_view symbol, std::size_t row) const;
  /// The table's column of a date, time, text or mark (`curve_id`, `remark`, `use`, ...): where the
  /// map says, else under the symbol's own name. Empty where there is none.
  [[nodiscard]] std::optional<std::size_t> text_column(std::string_view symbol) const;
  /// Its text in a row, trimmed; "" where there is no such column. Valid while the log lives.
  [[nodiscard]] std::string_view text(std::string_view symbol, std::size_t row) const;
  /// Where a value stands (the row alone for a constant).
  [[nodiscard]] Place place(const Channel& channel, std::size_t row) const;
  /// The map that was applied, the program's own for the reporting format's names included.
  [[nodiscard]] const ColumnMap& map() const { return map_; }
  /// What was assumed (units) and cannot be told.
  [[nodiscard]] const Notes& notes() const { return notes_; }
  /// Cells that are no numbers, with their places; their values are missing. At most ten per
  /// column, then a count.
  [[nodiscard]] const std::vector<Error>& problems() const { return problems_; }

 private:
  friend Result<Log> read_log(std::shared_ptr<const Table> table, const ColumnMap& map);
  /// A channel whose column holds partial pressures, kPa until the row's pressure is known.
  struct Partial {
    std::string symbol;
    Place place;
    bool own = false;  ///< nobody asked for it by a map
  };
  struct TextColumn {
    std::string symbol;
    std::size_t column = 0;
  };
  Result<void> take_column(const MappedColumn& mapped, bool own = false);
  Result<void> take_text(const MappedColumn& mapped);
  Result<Conversion> convert(const MappedColumn& mapped, std::size_t column, std::size_t block,
                             bool& partial);
  void read_values(Channel& channel, const std::vector<Conversion>& conversions, double factor);
  void take_own_columns();
  Result<void> divide_by_pressure();
  void derive();
  void add_derived(const char* symbol, std::initializer_list<const char*> from,
                   double (*made)(const double* values), const char* how);
  std::shared_ptr<const Table> table_;
  std::vector<Channel> channels_;
  std::vector<TextColumn> texts_;
  std::vector<Partial> partial_;
  ColumnMap map_;
  Notes notes_;
  std::vector<Error> problems_;
};

/// Types the columns. A column whose own title is a symbol of the reporting format and which the
/// map does not name is understood as it is; all others stay in the table untouched. A map entry
/// goes before the log's own column of that symbol. CO2 or H2O given as a partial pressure becomes
/// a mole fraction by the row's Patm, plus chamber_overpressure where the log has it. Errors:
/// unreadable, for a mapped column that is not in the log, a unit that is unknown or of another
/// dimension, or one symbol mapped twice.
Result<Log> read_log(std::shared_ptr<const Table> table, const ColumnMap& map = {});

}  // namespace leafwright
