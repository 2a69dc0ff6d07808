// Profile intervals of a least-squares fit: the values of one parameter for which the best sum of
// squares over all others stays below a limit.
//
//   SSR(p_k) <= SSR_min (1 + F_level(1, df)/df)        the interval of an F test
// (Bates & Watts 1988, Nonlinear Regression Analysis, section 6.1.) Unlike a standard error it is
// not symmetric and may be open: the data then do not bound the parameter on that side.
#pragma once

#include <cstddef>
#include <optional>

#include "base/error.hpp"
#include "numeric/least_squares.hpp"

namespace leafwright {

struct ProfileInterval {
  std::optional<double> low, high;  ///< empty: open up to the end of the search on that side
};

struct ProfileOptions {
  double level = 0.95;
  /// Where the search ends on each side; empty: the bound of the parameter, else 1e4 standard
  /// errors (or 1e4 typical sizes, where there is none) from the best value.
  std::optional<double> search_low, search_high;
};

/// The interval of parameter k about a converged fit. A limit at or beyond a bound of the problem
/// is open. Each value asked costs one fit of the others, started from the nearest one known.
/// Errors: unfit, where df = 0 or a fit of the others fails; usage, for k out of range.
Result<ProfileInterval> profile_interval(const LeastSquaresProblem& problem,
                                         const LeastSquaresFit& best, std::size_t k,
                                         const ProfileOptions& options = {});

}  // namespace leafwright
