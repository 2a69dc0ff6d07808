#include "fit/search.hpp"

#include <algorithm>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace

Candidate best_in_cell(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                       const CommonSums& common) {
  Candidate best;
  solve_faces(p, cell, assignment, common, false,
              [&](const FaceSolution& s, const Pins& pins, bool at_zero) {
                // The interior comes first and wins ties.
                const double margin = best.ssr < infinity ? rounding * p.scale : 0;
                if (s.ssr < best.ssr - margin && in_closed_cell(s, cell)) {
                  best = {s.ssr, s, pins, at_zero};
                }
              });
  return best;
}

C3Leaf leaf_of(const FaceSolution& s, const Cell& cell, const C3Problem& p) {
  C3Leaf leaf;
  leaf.Vcmax = s.has_V && (cell.c.count > 0 || vcmax_matters(p)) ? s.V : infinity;
  leaf.J = s.has_J && cell.j.count > 0 ? s.J : infinity;
  leaf.TPU = s.has_T && cell.p.count > 0 ? s.T : infinity;
  leaf.Rday = s.R;
  return leaf;
}

Flat flat_curve(const C3Problem& p, const CommonSums& c) {
  Flat f;
  const bool through_V = p.rday_mode == RdayMode::fraction && p.rday_value > 0 && p.permitted.rubp;
  f.rday_free = p.rday_mode == RdayMode::free || through_V;
  if (f.rday_free) f.rday = std::max(0.0, -c.dA / c.dd);
  if (p.rday_mode == RdayMode::fixed) f.rday = p.rday_value;
  if (through_V) f.V = f.rday / p.rday_value;
  f.ssr = c.AA + f.rday * (2 * c.dA + f.rday * c.dd);
  return f;
}

C3Leaf flat_leaf(const C3Problem& p, const Flat& f) {
  const auto zero_if = [](bool permitted) { return permitted ? 0.0 : infinity; };
  return {p.permitted.rubisco ? f.V : infinity, zero_if(p.permitted.rubp), zero_if(p.permitted.tpu),
          f.rday};
}

}  // namespace leafwright
