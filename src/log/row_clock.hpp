// When each row of a table of points was measured: in seconds, as far as its columns tell.
#pragma once

#include <cstddef>
#include <optional>

#include "log/column.hpp"
#include "table/table.hpp"

namespace leafwright {

/// `elapsed_s`, else `time_s`, else `date` and `time`, else `time` alone, by the clock as it stands
/// (no zone, no midnight). Differences within a curve are all that is meant by it. A table without
/// them, or with a unit that is no time, tells nothing.
class RowClock {
 public:
  explicit RowClock(const Table& table);
  /// Seconds; empty where the row does not tell.
  [[nodiscard]] std::optional<double> at(std::size_t row) const;

 private:
  const Table& table_;
  std::optional<QuantityColumn> seconds_;
  std::optional<std::size_t> date_, time_;
};

}  // namespace leafwright
