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
  [[nodiscard]] bool extends(double value) const {
    return value < low || (!open_high && value > high);
  }
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

/// Bounds of a cell: of rho, tau, sigma below and above, and Rday >= 0.
enum Bound : unsigned {
  rho_lo = 1,
  rho_hi = 2,
  tau_lo = 4,
  tau_hi = 8,
  sigma_lo = 16,
  sigma_hi = 32,
  rday_zero = 64,
  every_bound = 127
};

/// Which bounds a point breaks. (A broken Vcmax >= 0 or J >= 0 leads to the flat curve.)
unsigned broken_bounds(const FaceSolution& s, const Cell& cell) {
  unsigned out = s.R < 0 ? rday_zero : 0U;
  const auto check = [&](double upper, double lower, double lo, double hi, Bound below,
                         Bound above) {
    if (upper < lo * lower) out |= below;
    if (hi < infinity && upper > hi * lower) out |= above;
  };
  if (s.has_V && s.has_J) check(s.J, s.V, cell.rho_lo, cell.rho_hi, rho_lo, rho_hi);
  if (s.has_J && s.has_T) check(s.T, s.J, cell.tau_lo, cell.tau_hi, tau_lo, tau_hi);
  if (s.has_V && s.has_T) check(s.T, s.V, cell.sigma_lo, cell.sigma_hi, sigma_lo, sigma_hi);
  return out;
}

unsigned bounds_of(const Pins& pins, const Cell& cell) {
  unsigned out = 0;
  if (pins.rho) out |= pins.rho_at == cell.rho_lo ? rho_lo : rho_hi;
  if (pins.tau) out |= pins.tau_at == cell.tau_lo ? tau_lo : tau_hi;
  if (pins.sigma) out |= pins.sigma_at == cell.sigma_lo ? sigma_lo : sigma_hi;
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
    const FaceSolution interior =
        solve_well(p_, cell, assignment, Pins{}, cells_.common(), p_.rday_mode, p_.rday_value);
    wanted_.assign(requests_.size(), 1);
    broken_ = interior.solved && !all ? 0U : unsigned{every_bound};
    if (interior.solved && interior_suffices(interior, cell)) return;
    if (!interior.solved) explore_lines(cell, assignment, all);
    for_each_face(cell, vcmax_matters(p_), all, [&](const Pins& pins) {
      // The cell and the level set are convex: an end over the cell lies on at least one of the
      // bounds that the end over the interior's span breaks, and so on down the faces.
      const bool reached = broken_ == every_bound || (bounds_of(pins, cell) & broken_) != 0;
      bool below_zero = (broken_ & rday_zero) != 0;
      if (reached) {
        const FaceSolution s =
            solve_well(p_, cell, assignment, pins, cells_.common(), p_.rday_mode, p_.rday_value);
        if (!s.solved || take(s, cell)) below_zero = true;
      }
      if (p_.rday_mode != RdayMode::free || !below_zero) return;
      const FaceSolution zero =
          solve_well(p_, cell, assignment, pins, cells_.common(), RdayMode::fixed, 0);
      if (zero.solved) take(zero, cell);
    });
  }

  /// True where the ends of all ranges over the cell's interior solution lie in the cell (they are
  /// then the ends over the cell), or inside what is known already. Leaves in `wanted_` the
  /// requests of which that is not true.
  bool interior_suffices(const FaceSolution& s, const Cell& cell) {
    const bool inside = in_closed_cell(s, cell);
    bool all_enough = true;
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      const bool enough = interior_suffices(s, cell, inside, r);
      wanted_[r] = enough ? 0 : 1;
      all_enough = all_enough && enough;
    }
    return all_enough;
  }

  bool interior_suffices(const FaceSolution& s, const Cell& cell, bool inside, std::size_t r) {
    const Parameter q = requests_[r].parameter;
    const double room = requests_[r].threshold - s.ssr;
    if (room < 0) return true;
    if (!has_rows(cell, q, vcmax_matters(p_))) {
      if (inside) open(ranges_[r]);
      if (p_.min_points <= 1 && (inside || ranges_[r].open_high)) return true;
      broken_ |= broken_bounds(s, cell);
      return false;
    }
    const double variance = s.covariance(q, q);
    if (!(variance > 0)) {
      broken_ = every_bound;
      return false;
    }
    bool enough = true;
    for (const double side : {-1.0, 1.0}) {
      const double end = value_of(s, q) + side * std::sqrt(room * variance);
      if (!ranges_[r].extends(end)) continue;
      const FaceSolution at_end = moved(s, q, variance, side * std::sqrt(room));
      if (in_closed_cell(at_end, cell)) {
        ranges_[r].add(end);
      } else {
        broken_ |= broken_bounds(at_end, cell);
        enough = false;
      }
    }
    return enough;
  }

  static void open(Range& range) {
    range.open_high = true;
    range.exists = true;
  }

  /// One face: its own minimum, and both ends of each wanted range on it. True where the minimum
  /// or an end that would extend a range lies at Rday < 0.
  bool take(const FaceSolution& s, const Cell& cell) {
    if (s.ssr > most_) return false;
    const bool inside = in_closed_cell(s, cell);
    bool below_zero = s.R < 0;
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      if (wanted_[r] == 0) continue;
      const Parameter q = requests_[r].parameter;
      const double room = requests_[r].threshold - s.ssr;
      if (room < 0) continue;
      // Without rows of its own a parameter is free upwards wherever the rest is inside.
      if (inside && !has_rows(cell, q, vcmax_matters(p_))) open(ranges_[r]);
      if (!has(s, q)) continue;
      if (inside) ranges_[r].add(value_of(s, q));
      const double variance = s.covariance(q, q);
      if (!(variance > 0)) {
        if (q != Parameter::Rday) take_idle(s, cell, q, ranges_[r]);
        continue;
      }
      for (const double side : {-1.0, 1.0}) {
        const double end = value_of(s, q) + side * std::sqrt(room * variance);
        if (!ranges_[r].extends(end)) continue;
        const FaceSolution at_end = moved(s, q, variance, side * std::sqrt(room));
        below_zero = below_zero || at_end.R < 0;
        if (in_closed_cell(at_end, cell)) ranges_[r].add(end);
      }
    }
    return below_zero;
  }

  /// A capacity whose rows all lie at Gamma* changes nothing: it may be 0, or grow without end,
  /// as far as the cell allows.
  static void take_idle(FaceSolution s, const Cell& cell, Parameter q, Range& range) {
    double& value = q == Parameter::Vcmax ? s.V : (q == Parameter::J ? s.J : s.T);
    const double most = 1e9 * (1 + s.V + s.J + s.T);
    value = 0;
    if (in_closed_cell(s, cell)) range.add(0);
    value = most;
    if (in_closed_cell(s, cell)) open(range);
  }

  /// A cell whose rows leave a direction without effect (TPU at alpha = 0 beside Rday): where the
  /// direction stays in the cell far out, Rday and what rises with it are open above.
  void explore_lines(const Cell& cell, const Assignment& assignment, bool all) {
    const bool through_V = vcmax_matters(p_);
    if (p_.rday_mode == RdayMode::fixed || (through_V && cell.c.count > 0)) return;
    const double far_out = 1e6 * std::max(1.0, std::sqrt(p_.scale / cells_.common().dd));
    const auto at = [&](const Pins& pins, double rday) {
      FaceSolution s =
          solve_well(p_, cell, assignment, pins, cells_.common(), RdayMode::fixed, rday);
      if (through_V && !s.has_V) {
        s.V = rday / p_.rday_value;
        s.has_V = true;
      }
      return s;
    };
    for_each_face(cell, through_V, all, [&](const Pins& pins) {
      if (through_V && (pins.rho || pins.sigma)) return;
      const FaceSolution line =
          solve_well(p_, cell, assignment, pins, cells_.common(), p_.rday_mode, p_.rday_value);
      if (line.solved || line.ssr > most_) return;
      const FaceSolution far = at(pins, far_out), near = at(pins, far_out / 2);
      if (!in_closed_cell(far, cell) || !in_closed_cell(near, cell)) return;
      for (std::size_t r = 0; r < requests_.size(); ++r) {
        const Parameter q = requests_[r].parameter;
        if (requests_[r].threshold < line.ssr) continue;
        const bool rises = has(far, q) && value_of(far, q) > 1.5 * value_of(near, q);
        if (rises || !has_rows(cell, q, through_V)) open(ranges_[r]);
      }
    });
  }

  /// The flat curve A = -Rday: one capacity is 0, and the others are free. TPU = 0 gives it only
  /// where TPU can limit every row; Vcmax = 0 carries Rday = 0 along where Rday is a fraction of
  /// it.
  void explore_flat() {
    const CommonSums& c = cells_.common();
    const bool tied = vcmax_matters(p_);
    const bool no_V = p_.permitted.rubisco, no_J = p_.permitted.rubp;
    const bool no_T =
        p_.permitted.tpu && std::all_of(p_.s.begin(), p_.s.end(), [](double s) { return s > 0; });
    const double held = p_.rday_mode == RdayMode::fixed ? p_.rday_value : 0;
    const double without_V = c.AA + held * (2 * c.dA + held * c.dd);
    // Rday moves where it is free, or where J or TPU is 0 and Vcmax only respires.
    const bool moves = p_.rday_mode == RdayMode::free || (tied && (no_J || no_T));
    const double centre = -c.dA / c.dd;
    for (std::size_t r = 0; r < requests_.size(); ++r) {
      const double threshold = requests_[r].threshold;
      const double room = threshold - (c.AA - c.dA * c.dA / c.dd);
      const double most = room < 0 ? -1 : centre + std::sqrt(room / c.dd);
      const double least = room < 0 ? 0 : std::max(0.0, centre - std::sqrt(room / c.dd));
      const bool moving = moves && most >= 0;               // some Rday > = 0 is in reach
      const bool still = !moves && without_V <= threshold;  // the one Rday there is, is in reach
      const bool V0 = no_V && (tied || !moves ? without_V <= threshold : moving);
      const bool J0 = no_J && (moving || still), T0 = no_T && (moving || still);
      Range& range = ranges_[r];
      switch (requests_[r].parameter) {
        case Parameter::Rday:
          if (moving) range.add(least);
          if (moving) range.add(most);
          if (still) range.add(held);
          break;
        case Parameter::Vcmax:
          if (V0) range.add(0);
          if (tied && moving) range.add(least / p_.rday_value);
          if (tied && moving) range.add(most / p_.rday_value);
          if (!tied && (J0 || T0)) open(range);
          break;
        case Parameter::J:
          if (J0 || V0 || T0) range.add(0);
          if (V0 || T0) open(range);
          break;
        case Parameter::TPU:
          if (J0 || V0 || T0) range.add(0);
          if (V0 || J0) open(range);
          break;
      }
    }
  }

  const CellList& cells_;
  const C3Problem& p_;
  std::span<const ExtentRequest> requests_;
  std::vector<Range> ranges_;
  unsigned broken_ = 0;       ///< bounds that the interior's ends break in the current cell
  std::vector<char> wanted_;  ///< requests that faces of the current cell may still extend
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
