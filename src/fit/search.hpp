// How cells are searched: every face of a cell solved, the feasible ones kept. Shared by the
// solver, the runner-up and the intervals.
#pragma once

#include <limits>

#include "fit/cells.hpp"

namespace leafwright {

/// Rounding floor of sums of squares taken from sums, relative to sum w A^2.
inline constexpr double rounding = 1e-13;

/// Whether V acts without Rubisco rows: where Rday is a fraction of it.
inline bool vcmax_matters(const C3Problem& p) {
  return p.rday_mode == RdayMode::fraction && p.rday_value > 0;
}

/// A feasible solution on one face of one cell.
struct Candidate {
  double ssr = std::numeric_limits<double>::infinity();
  FaceSolution face;
  Pins pins;
  bool rday_at_zero = false;
};

/// Visits the solution of every face, with Rday free and, where asked, on its bound 0.
/// visit(const FaceSolution&, const Pins&, rday_at_zero)
template <class Visit>
void solve_faces(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                 const CommonSums& common, bool all, Visit&& visit) {
  for_each_face(cell, vcmax_matters(p), all, [&](const Pins& pins) {
    const FaceSolution s = solve_well(p, cell, assignment, pins, common, p.rday_mode, p.rday_value);
    if (s.solved) visit(s, pins, false);
    if (p.rday_mode == RdayMode::free && (all || !s.solved || s.R < 0)) {
      const FaceSolution zero = solve_well(p, cell, assignment, pins, common, RdayMode::fixed, 0);
      if (zero.solved) visit(zero, pins, true);
    }
  });
}

/// The minimum over one closed cell if it is at most `cutoff`; else, or where no face's solution
/// lies in the cell, ssr is infinite (the flat curve, the apex of every cell, is not looked at).
/// Where a face's own minimum violates constraints, at least one of those is active at the minimum
/// over the cell (convexity), so only their faces are looked into.
Candidate best_in_cell(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                       const CommonSums& common,
                       double cutoff = std::numeric_limits<double>::infinity());

/// The solution as a leaf: infinity where a limitation limits no row of the cell.
C3Leaf leaf_of(const FaceSolution& s, const Cell& cell, const C3Problem& p);

/// The flat curve A = -Rday: the apex of every cell (all capacities 0), or, where Rday is a
/// fraction of Vcmax, J = TPU = 0 under a Vcmax that only respires.
struct Flat {
  double V = 0;
  double rday = 0;
  double ssr = 0;
  bool rday_free = false;
};
Flat flat_curve(const C3Problem& p, const CommonSums& common);
C3Leaf flat_leaf(const C3Problem& p, const Flat& flat);

}  // namespace leafwright
