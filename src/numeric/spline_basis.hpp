// Cubic B-splines on equal intervals of a range (de Boor 1978, A Practical Guide to Splines, from
// memory): a smooth curve without a model, linear in its coefficients.
#pragma once

#include <array>
#include <cstddef>

namespace leafwright {

/// The four splines that are not 0 at a point: their numbers are first .. first + 3.
struct SplineValues {
  std::size_t first = 0;
  std::array<double, 4> value{};
  std::array<double, 4> slope{};  ///< per unit of x
};

class CubicSplineBasis {
 public:
  /// `intervals` + 3 splines over [from, to]. Throws std::logic_error for an empty range.
  CubicSplineBasis(double from, double to, std::size_t intervals);
  /// `x` outside the range is taken to its nearer end.
  [[nodiscard]] SplineValues at(double x) const;
  [[nodiscard]] std::size_t size() const { return intervals_ + 3; }

 private:
  double from_, width_;
  std::size_t intervals_;
};

}  // namespace leafwright
