// The C4 fit whose pieces are straight in the parameters, solved exactly.
//
//   initial side   A = V f(C) + gbs C - m R          f = C/(C + Kp), m = rm_share
//   flat top       A = P - R                         a plateau of unnamed cause
//   rising top     A = P + gbs C - m R               regeneration of PEP (P = Vpr)
//   A = min(initial side, top)                       von Caemmerer 2000, linear form
//
// For V, P, R >= 0 the initial side limits the lowest Ci and the top the rest, so the parameter
// space is cut into n + 1 cells, in each of which the sum of squares is a convex quadratic. Its
// minimum lies in the relative interior of one face (no row on the kink, or one; V, P, R at 0 or
// not) and is there the minimum on the face's span. All spans are solved and the sum of squares
// is taken of the model itself: no other parameters give a lower one.
#pragma once

#include <vector>

#include "fit/small_fit.hpp"

namespace leafwright {

enum class C4Top { flat, rising };

/// Rows in order of rising Ci, as arrays.
struct C4LinearProblem {
  std::vector<double> A;  ///< umol m-2 s-1
  std::vector<double> f;  ///< C/(C + Kp), rising
  std::vector<double> c;  ///< gbs C
  std::vector<double> w;  ///< weights of the rows in the sum of squares; empty: alike
  double m = 0.5;
  C4Top top = C4Top::flat;
  [[nodiscard]] std::size_t size() const { return A.size(); }
  [[nodiscard]] double weight(std::size_t i) const { return w.empty() ? 1 : w[i]; }
};

/// V, P, R; infinity where V or P limits no row.
struct C4LinearSolution {
  double V = 0, P = 0, R = 0;
  double ssr = 0;          ///< of the model, from its definition
  bool certified = false;  ///< it agrees with the face's own sum within 1e-9 of sum A^2
};

/// `held` holds V, P, R in this order where given (infinity allowed for V, P). ssr is infinite
/// where nothing satisfies it (V and P both infinite).
C4LinearSolution solve_c4_linear(const C4LinearProblem& p, const HeldParameters& held = {});

/// The sum of squares from its definition.
double c4_linear_ssr(const C4LinearProblem& p, double V, double P, double R);

}  // namespace leafwright
