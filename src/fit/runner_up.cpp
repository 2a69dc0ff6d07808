#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/exact.hpp"
#include "fit/search.hpp"

namespace leafwright {
namespace {

bool same(double x, double y) {
  return x == y || std::abs(x - y) <= 1e-9 * std::max(std::abs(x), std::abs(y));
}

bool same_leaf(const C3Leaf& a, const C3Leaf& b) {
  return same(a.Vcmax, b.Vcmax) && same(a.J, b.J) && same(a.TPU, b.TPU) &&
         std::abs(a.Rday - b.Rday) <= 1e-9 * (1 + std::abs(a.Rday));
}

/// Does a cell that also holds this point reach lower? Only cells whose bound is lower can.
bool beaten_by_neighbour(const CellList& cells, const std::vector<std::size_t>& lower,
                         const Candidate& c, double tie) {
  for (const std::size_t i : lower) {
    if (cells.bound(i) >= c.ssr - tie) break;
    const Cell cell = cells.cell(i);
    if (!in_closed_cell(c.face, cell)) continue;
    const Candidate other =
        best_in_cell(cells.problem(), cell, cells.assignment(i), cells.common());
    if (other.ssr < c.ssr - tie) return true;
  }
  return false;
}

}  // namespace

std::optional<LocalMinimum> next_minimum(const CellList& cells, const ExactSolution& best) {
  const C3Problem& p = cells.problem();
  const double tie = 1e-12 * p.scale;
  const std::vector<std::size_t> order = cells.below(std::numeric_limits<double>::infinity());
  std::optional<LocalMinimum> next;
  for (const std::size_t i : order) {
    if (next && cells.bound(i) >= next->ssr) break;
    const Cell cell = cells.cell(i);
    const Candidate c = best_in_cell(p, cell, cells.assignment(i), cells.common());
    if (!(c.ssr > best.ssr + tie) || !(c.ssr < (next ? next->ssr : 2 * p.scale))) continue;
    const C3Leaf leaf = leaf_of(c.face, cell, p);
    if (same_leaf(leaf, best.leaf)) continue;
    if (c.pins.count() > 0 && beaten_by_neighbour(cells, order, c, tie)) continue;
    next = LocalMinimum{leaf, sum_of_squares(p, leaf)};
  }
  return next;
}

}  // namespace leafwright
