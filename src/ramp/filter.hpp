// Value and slope of a noisy series by a quadratic through the rows about each row. Chosen over a
// plain mean because a ramp's CO2s bends: a quadratic has no bias from slope or curvature, at any
// spacing of the rows (Savitzky & Golay 1964, Anal. Chem. 36:1627, from memory; here for uneven
// times, by least squares at each row).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace leafwright {

/// The rows that one smoothed value is made from: value = sum value[k] y[first + k], slope alike
/// (per second).
struct WindowRow {
  std::size_t first = 0;
  std::vector<double> value, slope;
};

class QuadraticWindow {
 public:
  /// Rows within `width_s`/2 of each row, at least the three nearest. `time_s` must strictly
  /// increase; fewer than three rows throw std::logic_error.
  QuadraticWindow(std::span<const double> time_s, double width_s);

  [[nodiscard]] std::vector<double> smooth(std::span<const double> y) const;
  [[nodiscard]] std::vector<double> slope(std::span<const double> y) const;  ///< per second
  /// G' x for y -> smooth(y) and y -> slope(y): what x-weighted sums of the results weigh each row.
  [[nodiscard]] std::vector<double> smooth_adjoint(std::span<const double> x) const;
  [[nodiscard]] std::vector<double> slope_adjoint(std::span<const double> x) const;

 private:
  std::vector<WindowRow> rows_;
};

/// The mean over `width_s` about each row, of the values that are numbers; not a number where there
/// is none. width_s <= 0 gives the series back.
std::vector<double> running_mean(std::span<const double> time_s, std::span<const double> y,
                                 double width_s);

/// Values that are not numbers replaced by straight lines between their neighbours (the nearest
/// value at the ends). Unchanged where nothing is a number.
std::vector<double> bridged(std::span<const double> time_s, std::span<const double> y);

}  // namespace leafwright
