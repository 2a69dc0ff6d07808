// The sum of squares that a C3 fit minimises, as plain arrays:
//
//   SSR(V, J, T, R) = sum_i w_i (A_i - h_i min(V wc_i, J wj_i, T wp_i) + d_i R)^2
//
//   h = 1 - Gamma*/C,  wc = C/(C+Km),  wj = C/(a C + b Gamma*),
//   wp = 3 C/(C - (1+3 alpha) Gamma*), or "cannot limit" where C <= (1+3 alpha) Gamma*.
//
// Which state limits row i depends only on two ratios, rho = J/V and tau = T/J, against
//   r_i = wc_i/wj_i   Rubisco | RuBP    at rho = r_i
//   s_i = wj_i/wp_i   RuBP | TPU        at tau = s_i        (s_i = 0: TPU cannot limit)
//   u_i = r_i s_i     Rubisco | TPU     at rho tau = u_i
// With one Gamma*, Km and alpha a curve, r, s and u rise with C (Km > 2 Gamma* for 4/8,
// 7/3 Gamma* for 4.5/10.5), so the states are Rubisco.. RuBP.. TPU.. for every parameter vector
// (Gu et al. 2010). Kinetics per row break that order; the ratios stay.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "leaf/c3.hpp"

namespace leafwright {

/// How Rday enters.
enum class RdayMode {
  free,      ///< fitted, >= 0
  fixed,     ///< held at a value, umol m-2 s-1
  fraction,  ///< a fraction of Vcmax
};

/// Which limitations the fit may use. At least one.
struct LimitationSet {
  bool rubisco = true;
  bool rubp = true;
  bool tpu = true;
  [[nodiscard]] int count() const { return int{rubisco} + int{rubp} + int{tpu}; }
  [[nodiscard]] std::vector<Limitation> list() const;
  bool operator==(const LimitationSet&) const = default;
};

/// One observation with the constants that hold for it.
struct Observation {
  double A = 0;   ///< umol m-2 s-1
  double Ci = 0;  ///< umol mol-1, > 0
  Kinetics kinetics;
  double weight = 1;   ///< relative, > 0, independent of the parameters
  double scale_V = 1;  ///< Vcmax at this row relative to the curve's Vcmax
  double scale_J = 1;  ///< likewise J
  double scale_T = 1;  ///< likewise TPU
  double scale_R = 1;  ///< likewise Rday
};

/// The arrays, one entry a row, in the order in which states follow each other where there is one
/// (see `ordered`). `row[i]` is the observation's index as given.
struct C3Problem {
  std::vector<double> A, w, d;     ///< rate, weight, coefficient of Rday
  std::vector<double> xc, xj, xp;  ///< net coefficients h wc, h wj, h wp (xp = 0: cannot limit)
  std::vector<double> r, s, u;     ///< threshold ratios
  std::vector<std::size_t> row;
  LimitationSet permitted;
  RdayMode rday_mode = RdayMode::free;
  double rday_value = 0;       ///< umol m-2 s-1 (fixed) or fraction of Vcmax (fraction)
  std::size_t min_points = 1;  ///< a state that limits any row limits at least this many
  bool ordered = true;         ///< the states follow the order of the arrays for all parameters
  double scale = 0;            ///< data_scale(), against which sums of squares are compared
  std::size_t levels = 0;      ///< distinct Ci (relative distance > 1e-9)

  [[nodiscard]] std::size_t size() const { return A.size(); }
  /// Number of parameters the fit is permitted to use (for degrees of freedom).
  [[nodiscard]] int parameters() const {
    return permitted.count() + (rday_mode == RdayMode::free ? 1 : 0);
  }
};

/// Builds the arrays. Errors: unfit, where a Ci is not above 0, a value is not finite, a weight is
/// not positive, no limitation is permitted, Rday is a fraction of a Vcmax that is not permitted,
/// or the distinct Ci levels do not exceed the number of permitted limitations.
Result<C3Problem> make_problem(std::span<const Observation> observations, LimitationSet permitted,
                               RdayMode mode, double rday_value, const Electrons& electrons = {},
                               double alpha = 0, std::size_t min_points = 1);

/// Sum w A^2; where Rday is held, of the larger of A and A + Rday, since A + Rday is then what the
/// capacities are fitted to.
double data_scale(const C3Problem& p);

/// The state that limits row i (a tie within 1e-12 goes to the first of rubisco, rubp, tpu);
/// capacities that are not permitted are passed as infinity.
Limitation limiting_state(const C3Problem& p, std::size_t i, const C3Leaf& leaf);

/// Modelled net rate of row i.
double modelled_rate(const C3Problem& p, std::size_t i, const C3Leaf& leaf);

/// The sum of squares straight from its definition.
double sum_of_squares(const C3Problem& p, const C3Leaf& leaf);

}  // namespace leafwright
