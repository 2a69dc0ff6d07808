// A log's columns without their titles: sampled rows, and every reading that the size of the
// numbers permits ("as flow in umol s-1", "as CO2 in Pa"). Used by the search of propose.hpp.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "log/physics_pool.hpp"
#include "table/table.hpp"

namespace leafwright {

/// What a column can be read as. Streams of CO2 and H2O come in two.
enum class ReadAs : std::size_t {
  A,
  E,
  gsw,
  gbw,
  co2,
  h2o,
  flow,
  area,
  pressure,
  temperature,
  deficit,
  humidity,
  ratio,
};
inline constexpr std::size_t read_as_count = 13;

/// The numbers of one column in the sampled rows, as they stand.
struct SampledColumn {
  std::size_t column = 0;
  Series raw;             ///< not a number where missing or text
  Series step;            ///< distance to the next number that the digits can show
  double median = 0;      ///< of |raw|
  std::size_t there = 0;  ///< numbers
  bool constant = false;
};

/// One column as one quantity in one unit.
struct Reading {
  std::size_t column = 0;
  std::string unit;      ///< as a map writes it
  bool dry = false;      ///< CO2 or H2O per dry air
  bool partial = false;  ///< a partial pressure: `values` in kPa until a pressure divides them
  bool constant = false;
  /// What the log states of the unit: 2 this very unit, 1 another one of its kind, 0 nothing that
  /// is understood, -1 something else.
  int stated = 0;
  Series values;  ///< in the quantity's internal unit
  Series slack;   ///< half a step
};

class Sampling {
 public:
  /// Up to `most` rows, evenly spaced over the sound ones, in a fixed mixed order, so that the
  /// first few come from all over the log.
  explicit Sampling(const Table& table, std::size_t most = 80);

  /// Without readings that the log's own units speak against; empty where there is none such.
  [[nodiscard]] std::optional<Sampling> suited() const;

  [[nodiscard]] std::size_t rows() const { return rows_.size(); }
  [[nodiscard]] const std::vector<SampledColumn>& columns() const { return columns_; }
  [[nodiscard]] const std::vector<Reading>& as(ReadAs what) const {
    return readings_[static_cast<std::size_t>(what)];
  }

 private:
  void sample(const Table& table);
  void read_all(const Table& table);
  void read_column(const Table& table, const SampledColumn& column, ReadAs what);
  std::vector<std::size_t> rows_;
  std::vector<SampledColumn> columns_;
  std::array<std::vector<Reading>, read_as_count> readings_;
};

}  // namespace leafwright
