// The exact C3 solver: the parameters with the lowest sum of squares there are, with a certificate.
//
// The parameter space is cut into cells (cells.hpp); in each the objective is a convex quadratic.
// The global minimum lies in the relative interior of one face of one closed cell, and there it is
// the unconstrained minimum on that face's span. So: solve every face, keep the solutions that lie
// in their closed cell, take the lowest. Cells whose unconstrained minimum is not below the best
// found so far cannot hold a better one and are passed over.
#pragma once

#include <optional>
#include <string>

#include "fit/cells.hpp"

namespace leafwright {

/// The best parameters and how sure that is.
struct ExactSolution {
  C3Leaf leaf;                        ///< infinity where a limitation limits no row
  double ssr = 0;                     ///< straight from the definition
  Pins pins;                          ///< kinks on which the solution sits
  Assignment counts;                  ///< ordered problems: the cell it was found in
  std::vector<unsigned char> labels;  ///< unordered problems: its states
  bool rday_at_zero = false;
  bool flat = false;       ///< the flat curve A = -Rday fits best
  bool certified = false;  ///< ssr agrees with the face's own minimum within 1e-9 sum w A^2
};

/// Solves the problem. Never fails on a problem that make_problem accepted.
ExactSolution solve_exact(const C3Problem& problem);
/// The same where the cells are at hand; they refer to their problem.
ExactSolution solve_exact(const CellList& cells);

/// A parameter vector no small change of which fits better.
struct LocalMinimum {
  C3Leaf leaf;
  double ssr = 0;
};

/// The next local minimum above the best solution (runner_up.cpp). A minimum on a kink counts only
/// where it is the minimum of every cell that meets there. Empty where there is none within four
/// times the best sum of squares.
std::optional<LocalMinimum> next_minimum(const CellList& cells, const ExactSolution& best);

/// A parameter and the sum of squares up to which its range is wanted.
struct ExtentRequest {
  Parameter parameter;
  double threshold;
};
/// The range of one parameter over all parameter vectors with ssr <= threshold: the exact profile
/// interval (its hull, where the set has gaps). An empty side is open: the data do not bound it.
struct Extent {
  bool exists = false;  ///< false: no parameter vector reaches the threshold
  std::optional<double> low, high;
};
/// Exact ranges (extent.cpp): in every cell and face the extreme of a parameter over
/// {ssr <= threshold} is known in closed form, and the extreme over the closed cell lies in the
/// relative interior of one of its faces.
std::vector<Extent> profile_extents(const CellList& cells, std::span<const ExtentRequest> requests);

}  // namespace leafwright
