// How the states of an A-Ci curve look in every figure: colour, shape and dash together, so that
// any one of them is enough.
#pragma once

#include "figure/svg.hpp"
#include "fit/result.hpp"

namespace leafwright {

struct StateStyle {
  const char* label;  ///< for people
  Ink ink;
  Shape shape;
  Dash dash;
};

StateStyle state_style(Limitation state);
StateStyle state_style(C4State state);

/// Rows that were not fitted.
inline constexpr StateStyle unused_style = {"not used", Ink::muted, Shape::cross, Dash::solid};
/// Where the leaf works at the stated CO2 outside.
inline constexpr StateStyle operating_style = {"operating point", Ink::green, Shape::square,
                                               Dash::short_dashes};
/// Rows of a curve without a fit.
inline constexpr StateStyle plain_style = {"measured", Ink::ink, Shape::circle, Dash::solid};

}  // namespace leafwright
