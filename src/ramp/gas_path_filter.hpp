// The gas path as a filter: dead time d, then first-order mixing tau, then (where a logger does so)
// the mean over a window, computed without further smoothing from rows at any spacing.
//
//   tau dy/dt = r(t - d) - y,   r: a curve through the rows
//
// Between two rows r is a polynomial, and for it the equation is solved exactly:
//   y = r - tau r' + tau^2 r'' - tau^3 r''' + const exp(-t/tau)
// so the only approximation is the curve itself:
//   linear  straight lines; at a kink in r they are too high or low by up to h^2 r''/8
//   cubic   Hermite cubics whose slopes are those of the parabola through three rows (Bessel; de
//           Boor 1978, A Practical Guide to Splines, from memory): error of third order
// The mean over a window needs no sum: the integral of y is that of r less tau times the change of
// y.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace leafwright {

enum class Interpolation { linear, cubic };
const char* interpolation_name(Interpolation interpolation);  ///< "linear", "cubic"

class PathFilter {
 public:
  /// `time_s` must strictly increase; rows whose value is not a number are left out (the curve
  /// bridges them). Before the first row r stands still at `before` (empty: at the first value),
  /// after the last at the last value. Fewer than two numbers throw std::logic_error.
  PathFilter(std::span<const double> time_s, std::span<const double> values,
             Interpolation interpolation = Interpolation::cubic, std::optional<double> before = {});

  /// F_{d,tau} * r at the times `at`, which must not decrease; with `averaging_s` > 0 the mean over
  /// [t - averaging_s/2, t + averaging_s/2]. `delay_s` may be negative, `mixing_s` not.
  [[nodiscard]] std::vector<double> apply(double delay_s, double mixing_s,
                                          std::span<const double> at, double averaging_s = 0) const;

  [[nodiscard]] double first_time() const { return time_.front(); }
  [[nodiscard]] double last_time() const { return time_.back(); }

 private:
  /// r(u) = a + b u + c u^2 + e u^3, u from the row at its beginning.
  struct Piece {
    double a = 0, b = 0, c = 0, e = 0;
  };
  /// y at the rows, and its integral from the first row.
  struct State {
    double tau = 0;
    std::vector<double> y, integral;
  };
  [[nodiscard]] State solve(double tau) const;
  class Reader;

  std::vector<double> time_;
  std::vector<Piece> pieces_;  // one per row; the last stands still
  double before_ = 0;
};

/// What white noise of one row of r makes of a sum  sum_j x_j y_j  of filtered values: the variance
/// over that of one row, |G' x|^2 with y = G r, for linear interpolation. `at` as in apply.
double noise_gain(std::span<const double> time_s, double delay_s, double mixing_s,
                  std::span<const double> at, std::span<const double> x);
/// G' x itself, one value per row of r; the covariance of two sums is the product of two of these.
std::vector<double> noise_adjoint(std::span<const double> time_s, double delay_s, double mixing_s,
                                  std::span<const double> at, std::span<const double> x);

}  // namespace leafwright
