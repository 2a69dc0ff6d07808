// One face of one cell of the parameter space, and the convex least-squares problem on it.
//
// A cell is a fixed assignment of rows to states; it is the set of (V, J, T) with
//   rho = J/V in [rho_lo, rho_hi],  tau = T/J in [tau_lo, tau_hi],  sigma = T/V in [..]
// (a cone). On a face none, one or two of the ratios are pinned at a bound, which joins the states
// they connect into one group of rows with one free factor. In every face the objective is a
// convex quadratic, solved here in closed form from sums:
//   theta_g = (SxA_g + R Sx_g)/Sxx_g  given Rday = R, and a quadratic in the one "pivot" variable
// that couples the groups (Rday itself where it is free; V where Rday is a fraction of V).
#pragma once

#include <array>
#include <limits>

#include "fit/problem.hpp"

namespace leafwright {

/// Sums over the rows of one state: w x x, w x d, w x A, and the number of rows.
struct StateSums {
  double xx = 0, xd = 0, xA = 0;
  std::size_t count = 0;
};

/// Sums over all rows that no assignment changes: w d d, w d A, w A A.
struct CommonSums {
  double dd = 0, dA = 0, AA = 0;
};

/// A closed cell: who is in which state, and the bounds of the three ratios.
struct Cell {
  StateSums c, j, p;
  double rho_lo = 0, rho_hi = std::numeric_limits<double>::infinity();
  double tau_lo = 0, tau_hi = std::numeric_limits<double>::infinity();
  double sigma_lo = 0, sigma_hi = std::numeric_limits<double>::infinity();
};

/// Which ratios a face pins, and at what. A pin at 0 of tau or sigma is the face TPU = 0.
struct Pins {
  bool rho = false, tau = false, sigma = false;
  double rho_at = 0, tau_at = 0, sigma_at = 0;
  [[nodiscard]] int count() const { return int{rho} + int{tau} + int{sigma}; }
};

enum class Parameter { Vcmax, J, TPU, Rday };

/// The minimum on the span of a face, with what an interval needs.
struct FaceSolution {
  bool solved = false;  ///< false: singular on this face (its minimum also lies on another face)
  double conditioning = 0;  ///< the pivot's curvature after elimination, relative to before
  double V = 0, J = 0, T = 0, R = 0;  ///< 0 where the parameter limits no row of the face
  bool has_V = false, has_J = false, has_T = false;  ///< does the face determine it?
  double ssr = 0;
  // Covariance factors for unit noise: the groups' own variance, their slope on the pivot, the
  // pivot's variance, and how V, J, T, R hang on groups.
  std::array<double, 3> own{}, slope{};
  std::array<int, 3> group{-1, -1, -1};  ///< of V, J, T; -1 where undetermined
  std::array<double, 3> multiplier{};    ///< parameter = multiplier * theta_group
  double pivot_variance = 0;
  double rday_slope = 0;  ///< dR/dpivot

  /// Covariance factor of two parameters (unit noise variance); both must be determined.
  [[nodiscard]] double covariance(Parameter a, Parameter b) const;
  /// Whether the face determines the parameter (Rday: whether it varies on the face).
  [[nodiscard]] bool determines(Parameter a) const;
};

/// Where conditioning is below this, sums taken by differences have lost too many digits and the
/// face is solved again from the rows (solve_face_directly).
inline constexpr double poor_conditioning = 1e-6;

/// Who is in which state: rows [0, first_rubp) Rubisco, [first_rubp, first_tpu) RuBP, the rest TPU;
/// or, where `labels` is not null, labels[i] = 0, 1, 2.
struct Assignment {
  std::size_t first_rubp = 0;
  std::size_t first_tpu = 0;
  const unsigned char* labels = nullptr;
  [[nodiscard]] int state(std::size_t i) const {
    if (labels != nullptr) return labels[i];
    return i < first_rubp ? 0 : (i < first_tpu ? 1 : 2);
  }
};

/// Solves a face from sums. `rday_mode` and `rday_value` as in C3Problem; pass RdayMode::fixed with
/// 0 for the face Rday = 0 of a free Rday.
FaceSolution solve_face(const Cell& cell, const Pins& pins, const CommonSums& common,
                        RdayMode rday_mode, double rday_value);

/// The same from the rows, by projection in extended precision, for nearly singular faces. Where it
/// stays singular, `ssr` is the minimum without the pivot and `solved` is false.
FaceSolution solve_face_directly(const C3Problem& problem, const Assignment& assignment,
                                 const Pins& pins, RdayMode rday_mode, double rday_value);

}  // namespace leafwright
