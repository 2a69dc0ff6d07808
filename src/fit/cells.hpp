// The cells of the parameter space of a C3 problem, and the faces of a cell.
//
// Ordered problems: cell (k, m) has rows [0,k) Rubisco, [k,m) RuBP, [m,n) TPU. Problems with
// kinetics per row: the lines rho = r_i, tau = s_i, rho tau = u_i (each only where its two states
// meet) cut the (log rho, log tau) plane; every cell touches a crossing of two lines, so stepping a
// little off every crossing in eight directions finds all cells.
#pragma once

#include <cmath>
#include <vector>

#include "fit/face.hpp"

namespace leafwright {

/// Prefix sums over the rows in order, for cells of an ordered problem.
class CellSums {
 public:
  explicit CellSums(const C3Problem& problem);
  [[nodiscard]] Cell cell(std::size_t k, std::size_t m) const;
  [[nodiscard]] const CommonSums& common() const { return common_; }
  /// Lower bounds of the sum of squares for fixed k and m in [first, first + count): the minimum
  /// without constraints; -infinity where sums cannot tell.
  void bounds(std::size_t k, std::size_t first, std::size_t count, double* out) const;
  /// Whether Rday changes nothing in (k, m) that the factors cannot: one row at most of Rubisco and
  /// of RuBP, and TPU's column a multiple of Rday's (alpha = 0).
  [[nodiscard]] bool collinear(std::size_t k, std::size_t m) const;
  /// The minimum without constraints of such a cell.
  [[nodiscard]] double minimum_without_rday(std::size_t m) const;
  /// Smallest m at which rows [m, n) can all be TPU-limited.
  [[nodiscard]] std::size_t first_possible_tpu() const { return first_possible_tpu_; }

 private:
  [[nodiscard]] StateSums rubp_sums(std::size_t k, std::size_t m) const;
  const C3Problem& p_;
  std::size_t n_;
  std::size_t first_possible_tpu_ = 0;
  bool tpu_flat_ = false;  ///< TPU's column is a multiple of Rday's
  CommonSums common_;
  // Entry k of c: rows [0,k); of j: rows [0,k); of t: rows [k,n); q: what rows [k,n) take from the
  // quadratic in Rday if they are TPU-limited.
  std::vector<double> buffer_;
  double *cxx_, *cxd_, *cxA_, *jxx_, *jxd_, *jxA_, *txx_, *txd_, *txA_, *tq0_, *tq1_, *tq2_;
};

/// Every permitted cell of a problem, with a lower bound of the sum of squares in it (its minimum
/// without the cell's constraints; infinity where the cell has too few rows of a state). Cells are
/// made when asked for: there are about n^2/2.
class CellList {
 public:
  explicit CellList(const C3Problem& problem);
  [[nodiscard]] std::size_t size() const { return bounds_.size(); }
  [[nodiscard]] double bound(std::size_t i) const { return bounds_[i]; }
  [[nodiscard]] Cell cell(std::size_t i) const;
  /// Valid as long as the list.
  [[nodiscard]] Assignment assignment(std::size_t i) const;
  [[nodiscard]] const CommonSums& common() const { return sums_.common(); }
  [[nodiscard]] const C3Problem& problem() const { return p_; }
  /// Index of the cell with the lowest bound (size() where there is none).
  [[nodiscard]] std::size_t lowest() const { return lowest_; }
  /// Indices of the permitted cells whose closure holds the parameters of `s`.
  [[nodiscard]] std::vector<std::size_t> holding(const FaceSolution& s) const;
  /// Indices of the cells with bound <= most, lowest bound first.
  [[nodiscard]] std::vector<std::size_t> below(double most) const;

 private:
  /// Ordered: the cells of one k, m in [first, first + count), from index `begin`.
  struct Row {
    std::size_t begin, first;
  };
  void list_ordered();
  void list_unordered();
  /// Unordered: leaves out cells with too few rows of a state; returns how many are left.
  std::size_t drop_short_states();
  void drop_short_states(std::size_t k, std::size_t first, std::size_t count, double* bounds) const;
  const C3Problem& p_;
  CellSums sums_;
  std::vector<double> bounds_;
  std::vector<Row> rows_;              ///< ordered: by k, and one past the end
  std::vector<unsigned char> labels_;  ///< unordered: n to a cell
  std::size_t lowest_ = 0;
};

/// Sums and bounds of one assignment, straight from the rows.
Cell make_cell(const C3Problem& problem, const Assignment& assignment);

/// Sums that no assignment changes.
CommonSums common_sums(const C3Problem& problem);

/// solve_face, again from the rows where the sums are too nearly singular.
FaceSolution solve_well(const C3Problem& problem, const Cell& cell, const Assignment& assignment,
                        const Pins& pins, const CommonSums& common, RdayMode mode, double value);

/// Does the solution lie in the closed cell (within rounding)? Only ratios of parameters that the
/// face determines can violate a bound: the others are free to satisfy it.
bool in_closed_cell(const FaceSolution& s, const Cell& cell);

/// Calls visit(pins) for every face of the cell: interior, one ratio pinned, two ratios pinned.
/// Bounds that tie a parameter without rows (and without a part in Rday) to the others do not bind
/// the minimum; `all` visits them too, as intervals need.
template <class Visit>
void for_each_face(const Cell& cell, bool V_matters, bool all, Visit&& visit) {
  const bool V = all || cell.c.count > 0 || V_matters;
  const bool J = all || cell.j.count > 0;
  const bool T = all || cell.p.count > 0;
  double rho[2], tau[2], sigma[2];
  int rhos = 0, taus = 0, sigmas = 0;
  const auto add = [](double* list, int& count, double lo, double hi, bool zero_too) {
    if (lo > 0 || zero_too) list[count++] = lo;
    if (std::isfinite(hi) && hi != lo) list[count++] = hi;
  };
  if (V && J) add(rho, rhos, cell.rho_lo, cell.rho_hi, false);
  // A pin at 0 is the face TPU = 0; it is visited through tau where J is there, else through sigma.
  if (J && T) add(tau, taus, cell.tau_lo, cell.tau_hi, cell.tau_lo <= 0);
  if (V && T) add(sigma, sigmas, cell.sigma_lo, cell.sigma_hi, cell.sigma_lo <= 0 && !(J && T));
  visit(Pins{});
  for (int a = 0; a < rhos; ++a) visit(Pins{true, false, false, rho[a], 0, 0});
  for (int b = 0; b < taus; ++b) visit(Pins{false, true, false, 0, tau[b], 0});
  for (int c = 0; c < sigmas; ++c) visit(Pins{false, false, true, 0, 0, sigma[c]});
  for (int a = 0; a < rhos; ++a) {
    for (int b = 0; b < taus; ++b) visit(Pins{true, true, false, rho[a], tau[b], 0});
    for (int c = 0; c < sigmas; ++c) visit(Pins{true, false, true, rho[a], 0, sigma[c]});
  }
  for (int b = 0; b < taus; ++b) {
    for (int c = 0; c < sigmas; ++c) {
      if (tau[b] > 0 && sigma[c] > 0) visit(Pins{false, true, true, 0, tau[b], sigma[c]});
    }
  }
}

}  // namespace leafwright
