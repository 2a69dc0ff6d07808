#include "fit/exact.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Rounding floor of sums of squares taken from sums, relative to sum w A^2.
constexpr double rounding = 1e-13;

/// A feasible solution on one face of one cell.
struct Candidate {
  double ssr = infinity;
  FaceSolution face;
  Pins pins;
  bool rday_at_zero = false;
};

FaceSolution solve_well(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                        const Pins& pins, const CommonSums& common, RdayMode mode, double value) {
  FaceSolution s = solve_face(cell, pins, common, mode, value);
  if (s.conditioning < poor_conditioning) s = solve_face_directly(p, assignment, pins, mode, value);
  return s;
}

/// Visits the solution of every face, with Rday free and, where asked, on its bound 0.
/// visit(const FaceSolution&, const Pins&, rday_at_zero)
template <class Visit>
void solve_faces(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                 const CommonSums& common, bool all, Visit&& visit) {
  const bool V_matters = p.rday_mode == RdayMode::fraction && p.rday_value > 0;
  for_each_face(cell, V_matters, all, [&](const Pins& pins) {
    const FaceSolution s = solve_well(p, cell, assignment, pins, common, p.rday_mode, p.rday_value);
    if (s.solved) visit(s, pins, false);
    if (p.rday_mode == RdayMode::free && (all || !s.solved || s.R < 0)) {
      const FaceSolution zero = solve_well(p, cell, assignment, pins, common, RdayMode::fixed, 0);
      if (zero.solved) visit(zero, pins, true);
    }
  });
}

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
  const bool V_matters = p.rday_mode == RdayMode::fraction && p.rday_value > 0;
  leaf.Vcmax = s.has_V && (cell.c.count > 0 || V_matters) ? s.V : infinity;
  leaf.J = s.has_J && cell.j.count > 0 ? s.J : infinity;
  leaf.TPU = s.has_T && cell.p.count > 0 ? s.T : infinity;
  leaf.Rday = s.R;
  return leaf;
}

/// The flat curve A = -Rday: the apex of every cell (all capacities 0), or, where Rday is a
/// fraction of Vcmax, J = TPU = 0 under a Vcmax that only respires.
struct Flat {
  double V = 0;
  double rday = 0;
  double ssr = 0;
  bool rday_free = false;
};
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
    const Candidate found = best_in_cell(p, c, a, common);
    const double tie = rounding * p.scale;
    const bool better = found.ssr < best.ssr - tie;
    const bool equal = found.ssr < infinity && found.ssr <= best.ssr + tie && preferred(c, cell);
    if (better || equal) {
      best = found;
      cell = c;
      assignment = a;
    }
  }
  [[nodiscard]] bool may_improve(double bound) const {
    return bound <= best.ssr + rounding * p.scale;
  }
};

/// Lower bounds of all permitted cells of an ordered problem; cells whose sums cannot tell are
/// bounded from the rows.
struct BoundedCell {
  double bound;
  std::size_t k, m;
};

void bound_cells(const C3Problem& p, const CellSums& sums, std::vector<BoundedCell>& out) {
  const std::size_t n = p.size();
  std::vector<double> bounds(n + 1);
  const std::size_t last_k = p.permitted.rubisco ? n : 0;
  for (std::size_t k = 0; k <= last_k; ++k) {
    const std::size_t first = std::max(k, sums.first_possible_tpu());
    sums.lower_bounds(k, first, bounds.data());
    for (std::size_t m = first; m <= n; ++m) {
      if (!sums.permitted(k, m)) continue;
      double bound = bounds[m - first];
      if (bound == -infinity) {
        bound = solve_face_directly(p, Assignment{k, m, nullptr}, Pins{}, p.rday_mode, p.rday_value)
                    .ssr;
      }
      out.push_back({bound, k, m});
    }
  }
}

void search_ordered(const C3Problem& p, const CellSums& sums, Search& search) {
  std::vector<BoundedCell> cells;
  cells.reserve((p.size() + 1) * (p.size() + 2) / 2);
  bound_cells(p, sums, cells);
  const auto lowest = std::min_element(
      cells.begin(), cells.end(),
      [](const BoundedCell& a, const BoundedCell& b) { return a.bound < b.bound; });
  if (lowest == cells.end()) return;
  const std::size_t first = static_cast<std::size_t>(lowest - cells.begin());
  search.take(sums.cell(lowest->k, lowest->m), {lowest->k, lowest->m, nullptr});
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i == first || !search.may_improve(cells[i].bound)) continue;
    search.take(sums.cell(cells[i].k, cells[i].m), {cells[i].k, cells[i].m, nullptr});
  }
}

void search_unordered(const C3Problem& p, const std::vector<LabelledCell>& cells, Search& search) {
  for (const LabelledCell& c : cells) {
    const FaceSolution s =
        solve_well(p, c.cell, c.assignment(), Pins{}, search.common, p.rday_mode, p.rday_value);
    if (search.may_improve(s.ssr)) search.take(c.cell, c.assignment());
  }
}

ExactSolution finish(const C3Problem& p, const Search& search, const Flat& flat) {
  ExactSolution out;
  double promised = search.best.ssr;
  if (flat.ssr < search.best.ssr - rounding * p.scale) {
    out.flat = true;
    out.leaf = flat_leaf(p, flat);
    out.rday_at_zero = p.rday_mode == RdayMode::free && flat.rday == 0;
    promised = flat.ssr;
  } else {
    out.leaf = leaf_of(search.best.face, search.cell, p);
    out.pins = search.best.pins;
    out.rday_at_zero = search.best.rday_at_zero;
    out.counts = {search.assignment.first_rubp, search.assignment.first_tpu, nullptr};
    if (search.assignment.labels != nullptr) {
      out.labels.assign(search.assignment.labels, search.assignment.labels + p.size());
    }
  }
  out.ssr = sum_of_squares(p, out.leaf);
  out.certified = std::abs(out.ssr - promised) <= 1e-9 * p.scale;
  return out;
}

}  // namespace

ExactSolution solve_exact(const C3Problem& p) {
  if (p.ordered) {
    const CellSums sums(p);
    Search search{p, sums.common(), {}, {}, {}};
    search_ordered(p, sums, search);
    return finish(p, search, flat_curve(p, sums.common()));
  }
  const CommonSums common = common_sums(p);
  const std::vector<LabelledCell> cells = all_cells(p);
  Search search{p, common, {}, {}, {}};
  search_unordered(p, cells, search);
  return finish(p, search, flat_curve(p, common));
}

namespace {

bool same_leaf(const C3Leaf& a, const C3Leaf& b) {
  const auto same = [](double x, double y) {
    if (x == y) return true;
    return std::abs(x - y) <= 1e-9 * std::max(std::abs(x), std::abs(y));
  };
  return same(a.Vcmax, b.Vcmax) && same(a.J, b.J) && same(a.TPU, b.TPU) &&
         std::abs(a.Rday - b.Rday) <= 1e-9 * (1 + std::abs(a.Rday));
}

}  // namespace

std::vector<LocalMinimum> local_minima(const C3Problem& p) {
  const CommonSums common = common_sums(p);
  const std::vector<LabelledCell> cells = all_cells(p);
  struct Optimum {
    Candidate candidate;
    std::size_t cell;
  };
  std::vector<Optimum> optima;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    Candidate c = best_in_cell(p, cells[i].cell, cells[i].assignment(), common);
    if (c.ssr < infinity) optima.push_back({std::move(c), i});
  }
  std::sort(optima.begin(), optima.end(),
            [](const Optimum& a, const Optimum& b) { return a.candidate.ssr < b.candidate.ssr; });
  const double tie = 1e-12 * p.scale;
  std::vector<LocalMinimum> out;
  for (const Optimum& o : optima) {
    const C3Leaf leaf = leaf_of(o.candidate.face, cells[o.cell].cell, p);
    // Beaten by a neighbour that also holds this point?
    const bool beaten = o.candidate.pins.count() > 0 &&
                        std::any_of(optima.begin(), optima.end(), [&](const Optimum& other) {
                          return other.candidate.ssr < o.candidate.ssr - tie &&
                                 in_closed_cell(o.candidate.face, cells[other.cell].cell);
                        });
    if (beaten || std::any_of(out.begin(), out.end(), [&](const LocalMinimum& known) {
          return same_leaf(known.leaf, leaf);
        })) {
      continue;
    }
    out.push_back({leaf, sum_of_squares(p, leaf)});
  }
  return out;
}

namespace {

/// Collects the range of one parameter.
struct Range {
  double low = infinity;
  double high = -infinity;
  bool open_low = false;
  bool open_high = false;
  bool exists = false;
  void add(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
    exists = true;
  }
};

double value_of(const FaceSolution& s, Parameter parameter) {
  switch (parameter) {
    case Parameter::Vcmax:
      return s.V;
    case Parameter::J:
      return s.J;
    case Parameter::TPU:
      return s.T;
    case Parameter::Rday:
      return s.R;
  }
  return 0;
}

/// The face's solution moved by `step` standard distances along the direction in which `parameter`
/// gains most on the level set.
FaceSolution moved(const FaceSolution& s, Parameter parameter, double step) {
  FaceSolution out = s;
  const double variance = s.covariance(parameter, parameter);
  if (!(variance > 0)) return out;
  const double f = step / std::sqrt(variance);
  if (s.has_V) out.V += f * s.covariance(Parameter::Vcmax, parameter);
  if (s.has_J) out.J += f * s.covariance(Parameter::J, parameter);
  if (s.has_T) out.T += f * s.covariance(Parameter::TPU, parameter);
  out.R += f * s.covariance(Parameter::Rday, parameter);
  return out;
}

bool has(const FaceSolution& s, Parameter parameter) {
  switch (parameter) {
    case Parameter::Vcmax:
      return s.has_V;
    case Parameter::J:
      return s.has_J;
    case Parameter::TPU:
      return s.has_T;
    case Parameter::Rday:
      return true;
  }
  return false;
}

bool has_rows(const Cell& cell, Parameter parameter, bool V_matters) {
  switch (parameter) {
    case Parameter::Vcmax:
      return cell.c.count > 0 || V_matters;
    case Parameter::J:
      return cell.j.count > 0;
    case Parameter::TPU:
      return cell.p.count > 0;
    case Parameter::Rday:
      return true;
  }
  return true;
}

void extend(const C3Problem& p, const LabelledCell& c, const CommonSums& common,
            Parameter parameter, double threshold, Range& range) {
  const bool V_matters = p.rday_mode == RdayMode::fraction && p.rday_value > 0;
  const bool rows = has_rows(c.cell, parameter, V_matters);
  solve_faces(p, c.cell, c.assignment(), common, true,
              [&](const FaceSolution& s, const Pins&, bool) {
                const double room = threshold - s.ssr;
                if (room < 0) return;
                if (!has(s, parameter)) {
                  // Free upwards wherever the rest of the face is inside.
                  if (in_closed_cell(s, c.cell)) {
                    range.open_high = true;
                    range.exists = true;
                  }
                  return;
                }
                for (const double side : {-1.0, 1.0}) {
                  const FaceSolution end = moved(s, parameter, side * std::sqrt(room));
                  if (in_closed_cell(end, c.cell)) range.add(value_of(end, parameter));
                }
                // A face whose extreme points lie outside may still hold its own minimum.
                if (in_closed_cell(s, c.cell)) {
                  range.add(value_of(s, parameter));
                  if (!rows) range.open_high = true;
                }
              });
}

}  // namespace

Extent profile_extent(const C3Problem& p, const std::vector<LabelledCell>& cells,
                      Parameter parameter, double threshold) {
  const CommonSums common = common_sums(p);
  Range range;
  for (const LabelledCell& c : cells) {
    const FaceSolution s =
        solve_well(p, c.cell, c.assignment(), Pins{}, common, p.rday_mode, p.rday_value);
    if (s.ssr > threshold + rounding * p.scale) continue;
    extend(p, c, common, parameter, threshold, range);
  }
  const Flat flat = flat_curve(p, common);
  if (flat.ssr <= threshold) {
    // Any one capacity at 0 gives the flat curve; the others are then free.
    const double reach = flat.rday_free ? std::sqrt((threshold - flat.ssr) / common.dd) : 0;
    const double most = flat.rday + reach;
    if (parameter == Parameter::Rday) {
      range.add(std::max(0.0, flat.rday - reach));
      range.add(most);
    } else if (parameter == Parameter::Vcmax && p.rday_mode == RdayMode::fraction &&
               p.rday_value > 0) {
      range.add(0);
      range.add(most / p.rday_value);
    } else {
      range.add(0);
      range.open_high = p.permitted.count() > 1;
    }
  }
  Extent out;
  out.exists = range.exists;
  if (!range.exists) return out;
  if (range.low < infinity) out.low = range.low;
  if (range.high > -infinity && !range.open_high) out.high = range.high;
  return out;
}

}  // namespace leafwright
