#include "fit/search.hpp"

#include <algorithm>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// A bound of one ratio of two parameters, or Rday >= 0.
enum Constraint : unsigned {
  rho_lo = 1,
  rho_hi = 2,
  tau_lo = 4,
  tau_hi = 8,
  sigma_lo = 16,
  sigma_hi = 32,
  rday_zero = 64
};

/// Minimises over one closed cell by descending into the faces of violated constraints.
class CellMinimum {
 public:
  CellMinimum(const C3Problem& p, const Cell& cell, const Assignment& assignment,
              const CommonSums& common, double cutoff)
      : p_(p), cell_(cell), assignment_(assignment), common_(common) {
    best_.ssr = cutoff;
    const bool V = cell.c.count > 0 || vcmax_matters(p);
    const bool J = cell.j.count > 0, T = cell.p.count > 0;
    if (V && J) usable_ |= (cell.rho_lo > 0 ? rho_lo : 0U) | (cell.rho_hi < infinity ? rho_hi : 0U);
    // A lower bound 0 of tau or sigma is TPU >= 0.
    if (J && T) usable_ |= tau_lo | (cell.tau_hi < infinity ? tau_hi : 0U);
    if (V && T) {
      usable_ |=
          (cell.sigma_lo > 0 || !J ? sigma_lo : 0U) | (cell.sigma_hi < infinity ? sigma_hi : 0U);
    }
    if (p.rday_mode == RdayMode::free) usable_ |= rday_zero;
  }

  Candidate find() {
    descend(0);
    if (!found_) best_.ssr = infinity;
    return best_;
  }

 private:
  void descend(unsigned active) {
    const Pins pins{(active & (rho_lo | rho_hi)) != 0,
                    (active & (tau_lo | tau_hi)) != 0,
                    (active & (sigma_lo | sigma_hi)) != 0,
                    (active & rho_lo) != 0 ? cell_.rho_lo : cell_.rho_hi,
                    (active & tau_lo) != 0 ? cell_.tau_lo : cell_.tau_hi,
                    (active & sigma_lo) != 0 ? cell_.sigma_lo : cell_.sigma_hi};
    const bool at_zero = (active & rday_zero) != 0;
    const FaceSolution s =
        solve_well(p_, cell_, assignment_, pins, common_, at_zero ? RdayMode::fixed : p_.rday_mode,
                   at_zero ? 0 : p_.rday_value);
    if (s.solved && s.ssr >= best_.ssr) return;
    const unsigned broken = s.solved ? violated(s) : usable_;
    if (s.solved && broken == 0) {
      if (in_closed_cell(s, cell_)) {
        best_ = {s.ssr, s, pins, at_zero};
        found_ = true;
      }
      return;
    }
    for (unsigned c = 1; c <= rday_zero; c <<= 1U) {
      if ((broken & c) != 0 && (active & c) == 0 && compatible(active | c)) descend(active | c);
    }
  }

  /// Constraints that the solution breaks, among those that bind parameters of the cell. A broken
  /// V >= 0 or J >= 0 leads to the apex and is not listed.
  [[nodiscard]] unsigned violated(const FaceSolution& s) const {
    constexpr double slack = 1e-12;
    unsigned out = 0;
    const auto check = [&](Constraint lo, Constraint hi, double upper, double lower, double at_lo,
                           double at_hi) {
      if (upper < at_lo * lower * (1 - slack)) out |= lo;
      if (at_hi < infinity && upper > at_hi * lower * (1 + slack)) out |= hi;
    };
    if (s.has_V && s.has_J) check(rho_lo, rho_hi, s.J, s.V, cell_.rho_lo, cell_.rho_hi);
    if (s.has_J && s.has_T) check(tau_lo, tau_hi, s.T, s.J, cell_.tau_lo, cell_.tau_hi);
    if (s.has_V && s.has_T) check(sigma_lo, sigma_hi, s.T, s.V, cell_.sigma_lo, cell_.sigma_hi);
    if (s.R < 0) out |= rday_zero;
    return out & usable_;
  }

  [[nodiscard]] bool compatible(unsigned active) const {
    const auto both = [&](unsigned pair) { return (active & pair) == pair; };
    if (both(rho_lo | rho_hi) || both(tau_lo | tau_hi) || both(sigma_lo | sigma_hi)) return false;
    const bool rho = (active & (rho_lo | rho_hi)) != 0;
    const bool tau = (active & (tau_lo | tau_hi)) != 0;
    const bool sigma = (active & (sigma_lo | sigma_hi)) != 0;
    if (rho && tau && sigma) return false;
    // TPU = 0 leaves rho free whatever both say.
    const bool zero = ((active & tau_lo) != 0 && cell_.tau_lo <= 0) ||
                      ((active & sigma_lo) != 0 && cell_.sigma_lo <= 0);
    return !(tau && sigma && zero);
  }

  const C3Problem& p_;
  const Cell& cell_;
  const Assignment& assignment_;
  const CommonSums& common_;
  unsigned usable_ = 0;
  Candidate best_;
  bool found_ = false;
};

}  // namespace

Candidate best_in_cell(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                       const CommonSums& common, double cutoff) {
  return CellMinimum(p, cell, assignment, common, cutoff).find();
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
