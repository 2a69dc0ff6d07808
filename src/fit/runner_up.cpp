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

/// The minimum of each cell, computed once.
class CellMinima {
 public:
  explicit CellMinima(const CellList& cells)
      : cells_(cells), known_(cells.size(), std::numeric_limits<double>::quiet_NaN()) {}
  Candidate of(std::size_t i) {
    Candidate c =
        best_in_cell(cells_.problem(), cells_.cell(i), cells_.assignment(i), cells_.common());
    known_[i] = c.ssr;
    return c;
  }
  double ssr(std::size_t i) { return std::isnan(known_[i]) ? of(i).ssr : known_[i]; }

 private:
  const CellList& cells_;
  std::vector<double> known_;
};

}  // namespace

std::optional<LocalMinimum> next_minimum(const CellList& cells, const ExactSolution& best) {
  const C3Problem& p = cells.problem();
  const double tie = 1e-12 * p.scale;
  const std::vector<std::size_t> order = cells.below(4 * best.ssr + tie);
  CellMinima minima(cells);
  // The flat curve lies in every closed cell, so no cell's minimum is above it.
  const double flat = flat_curve(p, cells.common()).ssr;
  std::optional<LocalMinimum> next;
  for (const std::size_t i : order) {
    if (next && cells.bound(i) >= next->ssr) break;
    const Cell cell = cells.cell(i);
    const Candidate c = minima.of(i);
    if (!(c.ssr > best.ssr + tie) || !(c.ssr < (next ? next->ssr : 4 * best.ssr + tie))) continue;
    if (c.ssr > flat + tie) continue;
    const C3Leaf leaf = leaf_of(c.face, cell, p);
    if (same_leaf(leaf, best.leaf)) continue;
    // On a kink: a minimum only if no other cell that meets here reaches lower.
    const auto beaten = [&](std::size_t k) { return minima.ssr(k) < c.ssr - tie; };
    if (c.pins.count() > 0) {
      const auto meeting = cells.holding(c.face);
      if (std::any_of(meeting.begin(), meeting.end(), beaten)) continue;
    }
    next = LocalMinimum{leaf, sum_of_squares(p, leaf)};
  }
  return next;
}

}  // namespace leafwright
