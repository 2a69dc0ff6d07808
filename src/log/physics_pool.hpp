// What the quantities of a log are to the relations of physics. Used by physics.cpp.
#pragma once

#include <array>
#include <cstddef>
#include <string_view>
#include <vector>

#include "log/log.hpp"

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

using Series = std::vector<double>;  ///< one value per row; not a number where missing

/// The channels of a typed log by role.
class Pool {
 public:
  explicit Pool(const Log& log);
  /// The series of a role over all rows; empty where the log has none.
  [[nodiscard]] const Series& of(Role role) const {
    return series_[static_cast<std::size_t>(role)];
  }

 private:
  std::array<Series, role_count> series_;
};

/// The median of the finite values; not a number where there are none.
double median_of(Series values);

}  // namespace leafwright
