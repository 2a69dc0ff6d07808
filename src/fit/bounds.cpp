#include "fit/bounds.hpp"

#include <limits>

// The same loop for processors with wider registers. Without fused multiply-add (-ffp-contract=off)
// every variant gives the same bits.
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && defined(__linux__) && \
    !defined(__SANITIZE_ADDRESS__) && defined(__OPTIMIZE__)
#define LEAFWRIGHT_WIDE __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define LEAFWRIGHT_WIDE
#endif

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// D = RuBP xx; everything is multiplied by D so that one division per cell is left.
LEAFWRIGHT_WIDE void free_bounds(const BoundTerms& t, const BoundArrays& a, std::size_t first,
                                 std::size_t count, double* __restrict out) {
  const double* __restrict jxx = a.jxx + first;
  const double* __restrict jxd = a.jxd + first;
  const double* __restrict jxA = a.jxA + first;
  const double* __restrict t0 = a.t0 + first;
  const double* __restrict t1 = a.t1 + first;
  const double* __restrict t2 = a.t2 + first;
  const double k = t.kappa, k2 = k * k;
  const double b0 = t.base0, b1 = t.base1, b2 = t.base2, e1 = t.extra1, e2 = t.extra2;
  const double x0 = t.jxx, d0 = t.jxd, A0 = t.jxA, least = t.least_q2;
  for (std::size_t i = 0; i < count; ++i) {
    const double total = jxx[i];
    const double D = total - x0;
    const double d = jxd[i] - d0;
    const double A = jxA[i] - A0;
    const double q2 = k2 * ((b2 - t2[i]) * D - d * d) + e2 * D;
    const double q1 = k * ((b1 - t1[i]) * D - d * A) + e1 * D;
    const double bound = (b0 - t0[i]) - (A * A * q2 + q1 * q1) / (D * q2);
    // D has lost its digits where the rows hardly weigh (rows at Gamma*).
    const bool lost = (D < 1e-7 * total) | (q2 < least * D);
    out[i] = lost ? -infinity : bound;
  }
}

void fixed_bounds(const BoundTerms& t, const BoundArrays& a, std::size_t first, std::size_t count,
                  double* out) {
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t m = first + i;
    const double D = a.jxx[m] - t.jxx;
    const double d = a.jxd[m] - t.jxd;
    const double A = a.jxA[m] - t.jxA;
    const double q2 = t.base2 - a.t2[m] - d * d / D;
    const double q1 = t.base1 - a.t1[m] - d * A / D;
    const double q0 = t.base0 - a.t0[m] - A * A / D;
    out[i] = D < 1e-7 * a.jxx[m] ? -infinity : q0 + t.R * (2 * q1 + t.R * q2);
  }
}

}  // namespace

void lower_bounds(const BoundTerms& t, const BoundArrays& a, std::size_t first, std::size_t count,
                  double* out) {
  // The first cell of a row may have no RuBP rows at all.
  if (count > 0 && !(a.jxx[first] - t.jxx > 0)) {
    const double q2 = t.kappa * t.kappa * (t.base2 - a.t2[first]) + t.extra2;
    const double q1 = t.kappa * (t.base1 - a.t1[first]) + t.extra1;
    const double q0 = t.base0 - a.t0[first];
    if (t.fixed) {
      out[0] = q0 + t.R * (2 * q1 + t.R * q2);
    } else {
      out[0] = q2 < t.least_q2 ? -infinity : q0 - q1 * q1 / q2;
    }
    ++first;
    ++out;
    --count;
  }
  if (t.fixed) {
    fixed_bounds(t, a, first, count, out);
  } else {
    free_bounds(t, a, first, count, out);
  }
}

}  // namespace leafwright
