// C3 curves whose limitations blend: W = smooth minimum of Wc, Wj and Wp with curvature theta,
//   theta W^2 - (Wa + Wb) W + Wa Wb = 0, smaller root, first of Wc and Wj, then with Wp
//   A = (1 - Gamma*/C) W - Rday
// (Kirschbaum & Farquhar 1984, Aust. J. Plant Physiol. 11:519, from memory; as co-limitation in
// Collatz et al. 1991). theta = 1 is the sharp minimum. Vcmax comes out higher than under it, by
// 0.8 % at theta 0.999 to 12 % at 0.95: no result without its theta.
//
// The fit: Levenberg-Marquardt in Vcmax, 1/J, 1/TPU, Rday from the exact solutions of {c, j, p},
// {c, j} and {c, p} under the sharp minimum, the last two with the third limitation where it begins
// to be felt, and two perturbed ones. Not certified; how often it is beaten is measured
// (docs/methods-gm.md).
#pragma once

#include <memory>
#include <span>

#include "fit/problem.hpp"
#include "fit/rows.hpp"
#include "fit/small_fit.hpp"

namespace leafwright {

/// Net rate at C (umol mol-1, > 0). An infinite capacity does not limit; throws std::logic_error
/// where all are.
double smooth_c3_rate(double C, double theta, const C3Leaf& leaf, const Kinetics& k,
                      const Electrons& e = {}, double alpha = 0);

/// Parameters of both finite-gm and smooth models, in this order.
inline constexpr std::size_t c3_v = 0, c3_j = 1, c3_t = 2, c3_r = 3, c3_resistance = 4;

/// A curve under a smooth minimum. Errors: as make_problem; usage, for theta outside (0, 1].
Result<std::unique_ptr<CurveModel>> make_smooth_model(std::span<const Observation> observations,
                                                      LimitationSet permitted,
                                                      const RdayChoice& rday,
                                                      const Electrons& electrons, double alpha,
                                                      double theta);

}  // namespace leafwright
