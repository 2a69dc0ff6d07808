// The search for the assignment under which the relations of physics hold. Used by propose only.
//
//   water    E = 10 F (Ws - Wr)/[S (1000 - Ws)]
//   carbon   A = F [Cr - Cs (1000 - Wr)/(1000 - Ws)]/(100 S), or F (1 - w_r)(Cr - Cs)/(100 S)
//   stomata  gsw from E, Ws, Tleaf, Patm and gbw
//   inside   Ci from A, E, gsw, gbw and Cs
//   deficit  VPDleaf = e_s(Tleaf) - w_s P       humidity  RHs = 100 w_s P/e_s(Tair)
//
// A beam of partial assignments goes through the relations; each one extends them by the columns it
// needs, compares row by row and leaves early. Nothing here judges whether the best is unique:
// propose_challenge.hpp does.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "air/conductance.hpp"
#include "air/vapour.hpp"
#include "log/propose_pool.hpp"

namespace leafwright {

enum class Relation : std::size_t { water, carbon, stomata, inside, deficit, humidity };
inline constexpr std::size_t relation_count = 6;

/// The relations a role takes part in, and the roles of a relation.
const std::vector<Role>& roles_of(Relation relation);

struct Hypothesis {
  static constexpr int none = -1;
  std::array<int, role_count> pick;  ///< index into the candidates of a role, or none
  bool dry_co2 = false;              ///< CO2r and CO2s count dry air
  GbwIs gbw_is = GbwIs::whole_leaf;
  double ratio = 1;  ///< stomatal ratio where it is no column
  TwoSides two_sides = TwoSides::exact;
  VapourPressure form = VapourPressure::leaf_common;
  /// Median difference, relative to the median of what is recorded; not a number where untested.
  std::array<double, relation_count> misfit;

  Hypothesis();
  [[nodiscard]] int of(Role role) const { return pick[static_cast<std::size_t>(role)]; }
  [[nodiscard]] bool has(Role role) const { return of(role) != none; }
  void set(Role role, std::size_t index) {
    pick[static_cast<std::size_t>(role)] = static_cast<int>(index);
  }
  [[nodiscard]] double miss(Relation relation) const {
    return misfit[static_cast<std::size_t>(relation)];
  }
  [[nodiscard]] bool tested(Relation relation) const { return miss(relation) == miss(relation); }
  /// The lower the better: minus the digits to which the relations agree.
  [[nodiscard]] double score() const;
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

/// The best assignments, best first; at most `keep`.
std::vector<Hypothesis> search_assignments(const Pool& pool, std::size_t keep);

/// All misfits anew.
void measure(const Pool& pool, Hypothesis& hypothesis);

}  // namespace leafwright
