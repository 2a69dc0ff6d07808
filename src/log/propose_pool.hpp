// Columns of a log as what they might be: every reading of a column (role and unit) whose values
// are physically possible, on a sample of rows. Used by propose only.
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "log/log.hpp"
#include "log/map.hpp"
#include "table/table.hpp"

namespace leafwright {

/// What a column can be for the relations of physics.
enum class Role : std::size_t {
  A,
  E,
  gsw,
  Ci,
  CO2r,
  CO2s,
  H2Or,
  H2Os,
  dCO2,
  dH2O,
  flow,
  area,
  Tleaf,
  Patm,
  gbw,
  overpressure,
  stomatal_ratio,
  VPDleaf,
  RHs,
  Tair,
};
inline constexpr std::size_t role_count = 20;
std::string_view role_symbol(Role role);  ///< "A", ..., "chamber_overpressure", ...

using Series = std::vector<double>;  ///< one value per sampled row; not a number where missing

/// One reading of one column: value = (factor x number as it stands) in `unit`, in the unit of the
/// role's symbol; H2O per moist air.
struct ColumnCandidate {
  std::size_t column = 0;
  std::string unit;
  double factor = 1;  ///< -1: the sign is turned
  bool dry = false;   ///< H2O per dry air
  /// Of a partial pressure: which pressure it was divided by (index into candidates of Patm).
  std::optional<std::size_t> pressure = {};
  Series values = {};
  double median = 0;
  int level = 0;  ///< 1: an unusual reading, looked at only when the usual ones do not agree
};

/// Column number of a constant of the map: beyond the table's.
inline constexpr std::size_t constant_column = std::numeric_limits<std::size_t>::max() / 2;

/// How far the log's own titles and units bind the search.
struct PoolChoice {
  bool titles = true;  ///< a column titled with a symbol is that and nothing else
  bool units = true;   ///< a stated unit is right
  std::size_t rows = 40;
};

class Pool {
 public:
  Pool(const Table& table, const ColumnMap& known, const PoolChoice& choice);
  /// A typed log as it stands: each channel is what it is called, over all rows.
  explicit Pool(const Log& log);
  [[nodiscard]] const std::vector<ColumnCandidate>& of(Role role) const {
    return candidates_[static_cast<std::size_t>(role)];
  }
  [[nodiscard]] std::size_t rows() const { return rows_.size(); }
  /// Constants of the map, by column number minus constant_column.
  [[nodiscard]] const ColumnMap& known() const { return known_; }
  /// The pressures that partial pressures were divided by have this many candidates.
  [[nodiscard]] std::size_t columns() const { return raw_.size(); }

 private:
  void sample(const Table& table, std::size_t wanted);
  void add_column(const Table& table, std::size_t column, const PoolChoice& choice);
  void add_constants();
  void add_readings(Role role, std::size_t column, const Series& raw,
                    const std::optional<std::string>& stated);
  void keep(Role role, ColumnCandidate candidate);

  ColumnMap known_;
  std::vector<std::size_t> rows_;
  std::vector<Series> raw_;
  std::array<std::vector<ColumnCandidate>, role_count> candidates_;
};

/// The median of the finite values; not a number where there are none.
double median_of(Series values);

}  // namespace leafwright
