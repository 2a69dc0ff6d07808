// The relations of physics between the columns of a log, under one reading of it. Used by
// physics.cpp.
//
//   water    E = 10 F (Ws - Wr)/[S (1000 - Ws)]
//   carbon   A = F [Cr - Cs (1000 - Wr)/(1000 - Ws)]/(100 S), or F (1 - w_r)(Cr - Cs)/(100 S)
//   stomata  gsw from E, Ws, Tleaf, Patm and gbw
//   inside   Ci from A, E, gsw, gbw and Cs
//   deficit  VPDleaf = e_s(Tleaf) - w_s P       humidity  RHs = 100 w_s P/e_s(Tair)
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "air/conductance.hpp"
#include "air/vapour.hpp"
#include "log/physics_pool.hpp"

namespace leafwright {

enum class Relation : std::size_t { water, carbon, stomata, inside, deficit, humidity };
inline constexpr std::size_t relation_count = 6;

/// The relations a role takes part in, and the roles of a relation.
const std::vector<Role>& roles_of(Relation relation);

/// Which series take part, and how they are read.
struct Hypothesis {
  std::array<bool, role_count> takes = {};
  bool dry_co2 = false;  ///< CO2r and CO2s count dry air
  GbwIs gbw_is = GbwIs::whole_leaf;
  double ratio = 1;  ///< stomatal ratio where it is no column
  TwoSides two_sides = TwoSides::exact;
  VapourPressure form = VapourPressure::leaf_common;

  [[nodiscard]] bool has(Role role) const { return takes[static_cast<std::size_t>(role)]; }
  void take(Role role, bool taken) { takes[static_cast<std::size_t>(role)] = taken; }
};

/// What a hypothesis makes of the rows. Series are empty where a column is lacking.
class Model {
 public:
  Model(const Pool& pool, const Hypothesis& hypothesis) : pool_(pool), h_(hypothesis) {}
  [[nodiscard]] const Series& recorded(Role role) const;
  [[nodiscard]] Series stream(Role role) const;  ///< CO2r, CO2s, H2Or, H2Os, differences used
  [[nodiscard]] Series co2s_moist() const;
  [[nodiscard]] Series pressure() const;  ///< with the overpressure
  [[nodiscard]] Series E_recorded_or_made() const;
  [[nodiscard]] Series A_recorded_or_made() const;
  [[nodiscard]] Series gsw_recorded_or_made() const;
  [[nodiscard]] Series made(Relation relation) const;
  [[nodiscard]] BoundaryLayer layer(std::size_t row) const;
  /// Relative median difference of made and recorded; not a number where one is lacking.
  [[nodiscard]] double misfit(Relation relation) const;

 private:
  const Pool& pool_;
  const Hypothesis& h_;
};

/// What a relation gives: A, E, gsw, Ci, VPDleaf, RHs.
Role made_by(Relation relation);

/// Median of |a - b| over the median of |b|, where both are there in at least five rows and half of
/// all; else not a number.
double relative_difference(const Series& a, const Series& b);

}  // namespace leafwright
