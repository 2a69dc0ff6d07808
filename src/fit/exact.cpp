#include "fit/exact.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/search.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Smaller is preferred among equal sums of squares: fewer TPU rows, then fewer RuBP rows.
bool preferred(const Cell& a, const Cell& b) {
  if (a.p.count != b.p.count) return a.p.count < b.p.count;
  return a.j.count < b.j.count;
}

/// Best candidate so far over cells.
struct Search {
  const C3Problem& p;
  const CommonSums& common;
  Candidate best;
  Cell cell;
  Assignment assignment;

  void take(const Cell& c, const Assignment& a) {
    const double tie = rounding * p.scale;
    const Candidate found = best_in_cell(p, c, a, common, best.ssr + tie);
    const bool better = found.ssr < best.ssr - tie;
    const bool equal = found.ssr < infinity && found.ssr <= best.ssr + tie && preferred(c, cell);
    if (better || equal) {
      best = found;
      cell = c;
      assignment = a;
    }
  }
  [[nodiscard]] bool may_improve(double bound) const {
    return bound < infinity && bound <= best.ssr + rounding * p.scale;
  }
};

/// Looks into every cell that may hold something better, the most promising first.
void search_cells(const CellList& cells, Search& search) {
  const std::size_t first = cells.lowest();
  if (first < cells.size()) search.take(cells.cell(first), cells.assignment(first));
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i != first && search.may_improve(cells.bound(i))) {
      search.take(cells.cell(i), cells.assignment(i));
    }
  }
}

void take_candidate(ExactSolution& out, const C3Problem& p, const Candidate& c, const Cell& cell,
                    const Assignment& a) {
  out.flat = false;
  out.leaf = leaf_of(c.face, cell, p);
  out.pins = c.pins;
  out.rday_at_zero = c.rday_at_zero;
  out.counts = {a.first_rubp, a.first_tpu, nullptr};
  out.labels.clear();
  if (a.labels != nullptr) out.labels.assign(a.labels, a.labels + p.size());
}

/// Where parameters are so large that their rounding shows in the sum of squares, the sums by which
/// cells were compared mean little: take what is lowest when recomputed from the parameters.
void search_directly(const CellList& cells, ExactSolution& out) {
  const C3Problem& p = cells.problem();
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (!(cells.bound(i) < infinity)) continue;
    const Cell cell = cells.cell(i);
    const Assignment assignment = cells.assignment(i);
    solve_faces(p, cell, assignment, cells.common(), false,
                [&](const FaceSolution& s, const Pins& pins, bool at_zero) {
                  if (!in_closed_cell(s, cell)) return;
                  const double ssr = sum_of_squares(p, leaf_of(s, cell, p));
                  if (ssr >= out.ssr) return;
                  take_candidate(out, p, {s.ssr, s, pins, at_zero}, cell, assignment);
                  out.ssr = ssr;
                });
  }
}

ExactSolution finish(const CellList& cells, const Search& search) {
  const C3Problem& p = cells.problem();
  const Flat flat = flat_curve(p, cells.common());
  ExactSolution out;
  double promised = search.best.ssr;
  if (flat.ssr < search.best.ssr - rounding * p.scale) {
    out.flat = true;
    out.leaf = flat_leaf(p, flat);
    out.rday_at_zero = p.rday_mode == RdayMode::free && flat.rday == 0;
    promised = flat.ssr;
  } else {
    take_candidate(out, p, search.best, search.cell, search.assignment);
  }
  out.ssr = sum_of_squares(p, out.leaf);
  // A huge Rday beside huge capacities leaves the sum of squares to their rounding.
  const double lost = 2e-15 * out.leaf.Rday * std::sqrt(cells.common().dd * out.ssr);
  out.certified = std::abs(out.ssr - promised) + lost <= 1e-9 * p.scale;
  if (!out.certified) search_directly(cells, out);
  return out;
}

}  // namespace

ExactSolution solve_exact(const C3Problem& p) {
  return solve_exact(CellList(p));
}

ExactSolution solve_exact(const CellList& cells) {
  const C3Problem& p = cells.problem();
  Search search{p, cells.common(), {}, {}, {}};
  search_cells(cells, search);
  return finish(cells, search);
}

}  // namespace leafwright
