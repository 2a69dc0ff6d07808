#include "log/row_clock.hpp"

#include "log/time.hpp"

namespace leafwright {

RowClock::RowClock(const Table& table) : table_(table) {
  for (const char* name : {"elapsed_s", "time_s"}) {
    if (!table.has(name)) continue;
    if (auto column = QuantityColumn::find(table, name, "s")) {
      seconds_ = std::move(*column);
      return;
    }
  }
  const auto find = [&](const char* name) -> std::optional<std::size_t> {
    if (!table.has(name)) return std::nullopt;
    const auto column = table.find(name);
    return column ? std::optional(*column) : std::nullopt;
  };
  time_ = find("time");
  date_ = find("date");
}

std::optional<double> RowClock::at(std::size_t row) const {
  if (seconds_) {
    const auto value = seconds_->read(row);
    return value ? *value : std::nullopt;
  }
  if (!time_) return std::nullopt;
  const auto clock = parse_clock(table_.text(*time_, row));
  if (!clock || !clock->second) return std::nullopt;
  double day = clock->day ? static_cast<double>(*clock->day) : 0;
  if (!clock->day && date_) {
    const auto date = parse_clock(table_.text(*date_, row));
    if (!date || !date->day) return std::nullopt;
    day = static_cast<double>(*date->day);
  }
  return day * 86400 + *clock->second;
}

}  // namespace leafwright
