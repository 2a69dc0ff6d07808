#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "fit/exact.hpp"
#include "fit/search.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// The range found so far for one request.
struct Range {
  double low = infinity;
  double high = -infinity;
  bool open_high = false;
  bool exists = false;
  void add(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
    exists = true;
  }
  [[nodiscard]] bool extends(double value) const { return value < low || value > high; }
};

double value_of(const FaceSolution& s, Parameter parameter) {
  const std::array<double, 4> values{s.V, s.J, s.T, s.R};
  return values[static_cast<std::size_t>(parameter)];
}

bool has(const FaceSolution& s, Parameter parameter) {
  const std::array<bool, 4> known{s.has_V, s.has_J, s.has_T, true};
  return known[static_cast<std::size_t>(parameter)];
}

bool has_rows(const Cell& cell, Parameter parameter, bool V_matters) {
  const std::array<bool, 4> rows{cell.c.count > 0 || V_matters, cell.j.count > 0, cell.p.count > 0,
                                 true};
  return rows[static_cast<std::size_t>(parameter)];
}

/// The face's solution moved to the end of the level set in the direction of one parameter:
/// theta + side sqrt(room) C_k/sqrt(C_kk).
FaceSolution moved(const FaceSolution& s, Parameter parameter, double variance, double step) {
  FaceSolution out = s;
  const double f = step / std::sqrt(variance);
  if (s.has_V) out.V += f * s.covariance(Parameter::Vcmax, parameter);
  if (s.has_J) out.J += f * s.covariance(Parameter::J, parameter);
  if (s.has_T) out.T += f * s.covariance(Parameter::TPU, parameter);
  out.R += f * s.covariance(Parameter::Rday, parameter);
  return out;
}

class Explorer {
 public:
  Explorer(const CellList& cells, std::span<const ExtentRequest> requests)
      : cells_(cells), p_(cells.problem()), requests_(requests), ranges_(requests.size()) {
    for (const ExtentRequest& r : requests) most_ = std::max(most_, r.threshold);
  }

  void explore() {
    for (const std::size_t i : cells_.below(most_ + rounding * p_.scale)) explore_cell(i);
    explore_flat();
  }

  [[nodiscard]] std::vector<Extent> extents() const {
    std::vector<Extent> out;
    for (const Range& r : ranges_) {
      Extent e;
      e.exists = r.exists;
      if (r.low < infinity) e.low = r.low;
      if (r.high > -infinity && !r.open_high) e.high = r.high;
      out.push_back(e);
    }
    return out;
  }

 private:
  void explore_cell(std::size_t i) {
    const Cell cell = cells_.cell(i);
    const Assignment assignment = cells_.assignment(i);
    // With a minimum number of rows a neighbour cell may be missing that otherwise holds the lower
    // end of a parameter without rows here.
    const bool all = p_.min_points > 1;
    if (interior_suffices(cell, assignment)) return;
    solve_faces(p_, cell, assignment, cells_.common(), all,
                [&](const FaceSolution& s, const Pins&, bool) { take(s, cell); });
    if (p_.rday_mode != RdayMode::free || all) return;
    // solve_faces visits Rday = 0 only where the minimum asks for it; ends may lie there anyway.
    for_each_face(cell, vcmax_matters(p_), all, [&](const Pins& pins) {
      const FaceSolution s =
          solve_well(p_, cell, assignment, pins, cells_.common(), RdayMode::fixed, 0);
      if (s.solved) take(s, cell);
    });
  }

  /// True where the ends of all ranges over the cell's interior solution lie in the cell (they are
  /// then the ends over the cell), or inside what is known already.
  bool interior_suffices(const Cell& cell, const Assignment& assignment) {
    const FaceSolution s =
        solve_well(p_, cell, assignment, Pins{}, cells_.common(), p_.rday_mode, p_.rday_value);
    if (!s.solved) return false;
    const bool inside = in_closed_cell(s, cell);
    bool enough = true;
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      const Parameter q = requests_[r].parameter;
      const double room = requests_[r].threshold - s.ssr;
      if (room < 0) continue;
      if (!has_rows(cell, q, vcmax_matters(p_))) {
        if (inside) open(ranges_[r]);
        enough = enough && p_.min_points <= 1 && (inside || ranges_[r].open_high);
        continue;
      }
      const double variance = s.covariance(q, q);
      if (!(variance > 0)) {
        enough = enough && inside;
        if (inside) ranges_[r].add(value_of(s, q));
        continue;
      }
      for (const double side : {-1.0, 1.0}) {
        const double end = value_of(s, q) + side * std::sqrt(room * variance);
        if (!ranges_[r].extends(end)) continue;
        if (in_closed_cell(moved(s, q, variance, side * std::sqrt(room)), cell)) {
          ranges_[r].add(end);
        } else {
          enough = false;
        }
      }
    }
    return enough;
  }

  static void open(Range& range) {
    range.open_high = true;
    range.exists = true;
  }

  /// One face: its own minimum, and both ends of each range on it.
  void take(const FaceSolution& s, const Cell& cell) {
    if (s.ssr > most_) return;
    const bool inside = in_closed_cell(s, cell);
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      const Parameter q = requests_[r].parameter;
      const double room = requests_[r].threshold - s.ssr;
      if (room < 0) continue;
      const bool rows = has_rows(cell, q, vcmax_matters(p_));
      // Without rows of its own a parameter is free upwards wherever the rest is inside.
      if (inside && !rows) open(ranges_[r]);
      if (!has(s, q)) continue;
      if (inside) ranges_[r].add(value_of(s, q));
      const double variance = s.covariance(q, q);
      if (!(variance > 0)) continue;
      for (const double side : {-1.0, 1.0}) {
        const double end = value_of(s, q) + side * std::sqrt(room * variance);
        if (ranges_[r].extends(end) &&
            in_closed_cell(moved(s, q, variance, side * std::sqrt(room)), cell)) {
          ranges_[r].add(end);
        }
      }
    }
  }

  /// Any one capacity at 0 gives the flat curve; the others are then free.
  void explore_flat() {
    const Flat flat = flat_curve(p_, cells_.common());
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      const double room = requests_[r].threshold - flat.ssr;
      if (room < 0) continue;
      const double reach = flat.rday_free ? std::sqrt(room / cells_.common().dd) : 0;
      const double most = flat.rday + reach;
      if (requests_[r].parameter == Parameter::Rday) {
        ranges_[r].add(std::max(0.0, flat.rday - reach));
        ranges_[r].add(most);
      } else if (requests_[r].parameter == Parameter::Vcmax && vcmax_matters(p_)) {
        ranges_[r].add(0);
        ranges_[r].add(most / p_.rday_value);
      } else {
        ranges_[r].add(0);
        if (p_.permitted.count() > 1) ranges_[r].open_high = true;
      }
    }
  }

  const CellList& cells_;
  const C3Problem& p_;
  std::span<const ExtentRequest> requests_;
  std::vector<Range> ranges_;
  double most_ = -infinity;
};

}  // namespace

std::vector<Extent> profile_extents(const CellList& cells,
                                    std::span<const ExtentRequest> requests) {
  Explorer explorer(cells, requests);
  explorer.explore();
  return explorer.extents();
}

}  // namespace leafwright
