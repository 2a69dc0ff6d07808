// The relations of physics between readings of columns, and how far rounding alone may part what
// is recomputed from what was recorded. Used by the search of propose.hpp.
//
//   water    E = 10 F (Ws - Wr)/[S (1000 - Ws)]
//   carbon   A = F [Cr - Cs (1000 - Wr)/(1000 - Ws)]/(100 S)
//   stomata  gsw from E, Ws, Tleaf, Patm and gbw (air/conductance.hpp)
//   inside   Ci from A, E, gsw, gbw and Cs
//   deficit  VPDleaf = e_s(Tleaf) - w_s P       humidity  RHs = 100 w_s P/e_s(Tair)
// with W, C per moist air; X per dry air is W = 1000 X/(1000 + X), C = X_c (1000 - W)/1000.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <vector>

#include "air/conductance.hpp"
#include "air/vapour.hpp"
#include "log/physics_model.hpp"
#include "log/propose_readings.hpp"

namespace leafwright {

/// What the columns of an assignment are.
enum class Part : std::size_t { A, E, gsw, Ci, Cr, Cs, Wr, Ws, F, S, T, P, gbw, ratio, D, RH, Ta };
inline constexpr std::size_t part_count = 17;
const char* part_symbol(Part part);  ///< "A", ..., "CO2r", ..., "Tair"
ReadAs part_read_as(Part part);

/// Which reading is which part, and the forms that hold.
struct Assignment {
  std::array<const Reading*, part_count> parts = {};
  GbwIs gbw_is = GbwIs::whole_leaf;
  double ratio = 1;          ///< where it is no column
  double constant_gbw = 0;   ///< mmol m-2 s-1, where it is no column; 0: none
  double constant_area = 0;  ///< cm2, where it is no column; 0: none
  TwoSides two_sides = TwoSides::exact;
  double factor = 1;  ///< of E and A, where another area was used for what was recorded
  VapourPressure form = VapourPressure::leaf_common;

  [[nodiscard]] const Reading* of(Part part) const { return parts[static_cast<std::size_t>(part)]; }
  /// Is the column one of the parts already?
  [[nodiscard]] bool uses(std::size_t column) const;
  /// Parts whose column states a unit of another kind.
  [[nodiscard]] std::size_t contradictions() const;
  /// Parts that are partial pressures.
  [[nodiscard]] std::size_t partials() const;
  void set(Part part, const Reading* reading) { parts[static_cast<std::size_t>(part)] = reading; }
};

/// What a relation makes, and the parts it is made from.
Part made_part(Relation relation);
const std::vector<Part>& parts_of(Relation relation);

/// Is the part made by the relation, or one that it is made from (a pressure where it divides)?
bool takes_part(const Assignment& a, Relation relation, Part part);

/// The series that a relation makes; empty where a part is lacking. `shifted` is moved by its
/// slack.
Series made_series(const Assignment& a, Relation relation,
                   std::optional<Part> shifted = std::nullopt);

/// A stream in moist air: umol mol-1 or mmol mol-1. Empty where it is lacking, or a pressure is.
Series moist_stream(const Assignment& a, Part stream, std::optional<Part> shifted = std::nullopt);

/// How well a relation holds: the median of |made - recorded| over the median of |recorded|, and
/// how much the rounding of all its columns, at worst together, could make of it.
struct Agreement {
  double off = 0;
  double rounding = 0;
  std::size_t n = 0;         ///< rows compared
  std::size_t outlying = 0;  ///< of these, rows off by more than 2 % and thrice the rounding
  double variation = 0;      ///< of what was recorded, see variation_of
  /// What hardly changes is matched by chance: the misfit has to be small beside the change, too.
  [[nodiscard]] bool to_the_digits() const { return off <= rounding && 10 * off <= variation; }
};
/// Empty where a part is lacking or fewer than 8 rows can be compared.
std::optional<Agreement> agreement_of(const Assignment& a, Relation relation);

/// How much a series changes: the median distance from its median, over the median of |value|.
double variation_of(const Series& values);

/// The median of |a - b| over that of |b|; infinity where fewer than 8 rows, or 60 % of them, have
/// both.
double median_off(const Series& a, const Series& b);

}  // namespace leafwright
