// Screening of A-Ci points as they stand in a table. Used by points.cpp.
#pragma once

#include "log/curve.hpp"
#include "log/screen.hpp"

namespace leafwright {

/// Marks rows of a curve: what is no measurement gets use = false and why, what is unusual a note.
/// A row repeats the one before where A, Ci, Tleaf, Patm and Qin are all the same in every digit
/// and A or Ci has at least three of them behind the point (rounded numbers agree by chance).
void screen_points(Curve& curve, const ScreenChoice& choice);

}  // namespace leafwright
