// From the total conductance to water to the stomatal one and to CO2, through the boundary layer.
//
// Two sides in parallel, stomata shared as K = one side on the other (a = 1/(1+K), b = K/(1+K)),
// gbw the boundary layer of ONE side:
//   gtw = sum_x  x gsw gbw/(x gsw + gbw)            x = a, b
//   gtc = sum_x 1/(1.6/(x gsw) + 1.37/gbw)
// gsw is the positive root of  ab(2 gbw - gtw) g^2 + gbw (gbw - gtw) g - gtw gbw^2 = 0.
// The usual form is its first order in gsw/gbw, exact for K = 1 and for one side only:
//   1/gsw = 1/gtw - kf/gbw,  1/gtc = 1.6/gsw + 1.37 kf/gbw,  kf = (K^2 + 1)/(K + 1)^2
// K and 1/K are the same leaf. Where gbw is stated for the whole leaf it already holds K: kf = 1.
//
// Sources: von Caemmerer & Farquhar 1981, Planta 153:376 (series form; 1.6 looked up, 1.37 =
// 1.6^(2/3) from memory); the root is derived (docs/methods-air.md). All conductances in mmol m-2
// s-1.
#pragma once

#include <optional>
#include <string_view>

#include "base/error.hpp"

namespace leafwright {

/// What a stated gbw is.
enum class GbwIs {
  per_side,    ///< of one side of the leaf; the stomatal ratio is needed as well
  whole_leaf,  ///< the leaf as a whole, the stomatal ratio already in it
};
const char* gbw_is_name(GbwIs is);  ///< "per side", "whole leaf"
/// Error: usage, naming both.
Result<GbwIs> find_gbw_is(std::string_view name);

/// How two sides with a gbw per side are put together.
enum class TwoSides {
  exact,        ///< the quadratic
  first_order,  ///< kf
};
const char* two_sides_name(TwoSides two_sides);  ///< "exact", "first-order"
/// Error: usage, naming both.
Result<TwoSides> find_two_sides(std::string_view name);

inline constexpr double water_on_co2_stomata = 1.6;    ///< Dw/Dc, still air
inline constexpr double water_on_co2_boundary = 1.37;  ///< (Dw/Dc)^(2/3), laminar boundary layer

/// The boundary layer of one leaf. gbw > 0; K >= 0, infinity for the other side only.
struct BoundaryLayer {
  double gbw = 0;
  GbwIs is = GbwIs::per_side;
  double stomatal_ratio = 1;  ///< K, not used for a whole leaf
  TwoSides two_sides = TwoSides::exact;
};

/// (K^2 + 1)/(K + 1)^2: 1 for one side, 0.5 for both alike.
double boundary_share(double stomatal_ratio);

/// gtw from gsw; +infinity where gsw is beyond what the form can hold (never for exact).
double total_conductance(double gsw, const BoundaryLayer& layer);

/// gsw from gtw (any sign: a gtw just below 0 is noise about closed stomata). Empty where gtw is
/// not below what the boundary layer alone lets through, or not within the form's reach.
std::optional<double> stomatal_conductance(double gtw, const BoundaryLayer& layer);

/// gtc from gsw > 0.
double co2_conductance(double gsw, const BoundaryLayer& layer);

/// gbc, as 1/gbc = 1/gtc - 1.6/gsw: from the air to the leaf's surface, both sides taken together.
/// With unlike sides the surface CO2 that follows is the mean of the two, weighted by their
/// stomata.
double boundary_co2_conductance(double gsw, const BoundaryLayer& layer);

}  // namespace leafwright
