// Lower bounds of the sum of squares for many cells at once: the hot loop of the solver.
#pragma once

#include <cstddef>

namespace leafwright {

/// The minimum over a pivot z of q0 + 2 q1 z + q2 z^2, where RuBP rows [k, m) and TPU rows [m, n)
/// are projected out of the base (Rubisco rows and everything common), for each m of a range:
///   q_ = kappa-scaled (base_ - j-part - t-part) + extra_
/// With pivot fixed at R instead: q0 + 2 q1 R + q2 R^2.
struct BoundTerms {
  double base0 = 0, base1 = 0, base2 = 0;  ///< sums without RuBP and TPU rows projected
  double extra1 = 0, extra2 = 0;           ///< what a Vcmax that carries Rday adds
  double kappa = 1;
  double least_q2 = 0;               ///< below this q2 is rounding noise
  double jxx = 0, jxd = 0, jxA = 0;  ///< RuBP prefix sums at k
  bool fixed = false;
  double R = 0;
};

/// Arrays over m: RuBP prefix sums, and the TPU rows' parts of q0, q1, q2.
struct BoundArrays {
  const double *jxx, *jxd, *jxA, *t0, *t1, *t2;
};

/// Writes `count` bounds for m = first, first + 1, ...; -infinity where sums cannot tell.
void lower_bounds(const BoundTerms& terms, const BoundArrays& arrays, std::size_t first,
                  std::size_t count, double* out);

}  // namespace leafwright
