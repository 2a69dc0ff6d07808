// The C3 model of Farquhar, von Caemmerer & Berry (1980) in terms of carboxylation rates W:
//   A = (1 - Gamma*/C) min(Wc, Wj, Wp) - Rday
//   Wc = Vcmax C/(C + Km)
//   Wj = J C/(a C + b Gamma*)             a/b = 4/8 (NADPH) or 4.5/10.5 (ATP)
//   Wp = 3 TPU C/(C - (1 + 3 alpha) Gamma*)   for C > (1 + 3 alpha) Gamma*, else no TPU limit
// The minimum is of W, not of net rates: below Gamma* the order of net rates flips (Gu et al. 2010;
// von Caemmerer 2000). alpha is the fraction of glycolate carbon not returned (Harley & Sharkey
// 1991). C is Ci where gm is infinite. Ranges: C > 0 umol mol-1; capacities >= 0; alpha in 0..1.
// Sources of each equation, and which were looked up: docs/methods.md.
//
// Nothing here checks data: a call outside the stated range is a broken promise of the caller and
// throws std::logic_error where the answer would be meaningless.
#pragma once

#include "leaf/kinetics.hpp"

namespace leafwright {

/// Electrons per carboxylation and per oxygenation: Wj = J C/(carboxylation C + oxygenation G*).
struct Electrons {
  double carboxylation = 4;
  double oxygenation = 8;
};

enum class Limitation { rubisco, rubp, tpu };
const char* limitation_name(Limitation limitation);  ///< "rubisco", "rubp", "tpu"

/// Capacities in umol m-2 s-1 at leaf temperature. Infinity = does not limit.
struct C3Leaf {
  double Vcmax = 0;
  double J = 0;
  double TPU = 0;
  double Rday = 0;
};

struct C3Rate {
  double A = 0;                                 ///< umol m-2 s-1
  Limitation limited_by = Limitation::rubisco;  ///< ties go to the first of rubisco, rubp, tpu
};

/// Net assimilation at CO2 `C` (umol mol-1, > 0) with infinite gm. `alpha` in 0..1. Throws
/// std::logic_error where nothing limits at C (every capacity infinite).
C3Rate c3_assimilation(double C, const C3Leaf& leaf, const Kinetics& k, const Electrons& e = {},
                       double alpha = 0);

/// Net rate if only this limitation acted, umol m-2 s-1; +infinity where TPU cannot limit.
double c3_limited_rate(Limitation limitation, double C, const C3Leaf& leaf, const Kinetics& k,
                       const Electrons& e = {}, double alpha = 0);

/// The same with finite mesophyll conductance gm (mol m-2 s-1): C = Ci - A/gm solved as a quadratic
/// (Ethier & Livingston 2004):
///   A^2/gm - A[(V - Rday)/gm + Ci + x] + V(Ci - G*) - Rday(Ci + x) = 0, smaller root
///   Rubisco V = Vcmax, x = Km; RuBP V = J/a, x = b G*/a; TPU V = 3 TPU, x = -(1 + 3 alpha) G*
/// Returns A under one limitation, +infinity where TPU cannot limit at any Cc. Throws
/// std::logic_error for an infinite capacity of that limitation or gm not in (0, infinity).
double c3_limited_rate_gm(Limitation limitation, double Ci, double gm, const C3Leaf& leaf,
                          const Kinetics& k, const Electrons& e = {}, double alpha = 0);

/// Net assimilation with finite gm; `limited_by` is judged at the Cc that results. Above the Ci
/// where A = -Rday it is the lowest of the limited rates; below it the order flips, and TPU cannot
/// limit. An infinite capacity does not limit; throws std::logic_error where all are.
C3Rate c3_assimilation_gm(double Ci, double gm, const C3Leaf& leaf, const Kinetics& k,
                          const Electrons& e = {}, double alpha = 0);

/// Smooth minimum of two rates a, b >= 0: theta x^2 - (a + b) x + a b = 0, smaller root. theta = 1
/// is the plain minimum, theta = 0 gives ab/(a + b).
double smooth_minimum(double a, double b, double theta);

/// J from light: theta J^2 - (I2 + Jmax) J + I2 Jmax = 0, smaller root (I2, Jmax, J in
/// umol m-2 s-1; theta in 0..1).
double electron_transport(double I2, double Jmax, double theta);

/// Light used by photosystem II, umol m-2 s-1: Q absorptance (1 - loss)/2, Q the photon flux
/// density incident on the leaf (von Caemmerer 2000, from memory). All shares in 0..1.
double photosystem_light(double Q, double absorptance, double loss);

/// The Jmax under which electron_transport gives J: J (I2 - theta J)/(I2 - J), rising with J; I2 >
/// 0, 0 <= theta <= 1. +infinity where J >= I2: no Jmax gives as much. theta = 1 is min(I2, Jmax).
double jmax_from_transport(double J, double I2, double theta);
/// dJmax/dJ there: (I2^2 - 2 theta I2 J + theta J^2)/(I2 - J)^2.
double jmax_slope(double J, double I2, double theta);

/// Compensation point with respiration where Rubisco limits: (Vcmax G* + Rday Km)/(Vcmax - Rday).
/// +infinity where Vcmax <= Rday: such a leaf never balances its respiration.
double compensation_point_rubisco(const C3Leaf& leaf, const Kinetics& k);

/// One-point Vcmax (De Kauwe et al. 2016): (Asat + Rday)(Ci + Km)/(Ci - G*). Right only for a
/// light-saturated point that Rubisco limits, with Ci > G*; otherwise a lower bound or meaningless.
double one_point_vcmax(double Asat, double Ci, double Rday, const Kinetics& k);
/// The same with Rday = fraction * Vcmax: Asat/[(Ci - G*)/(Ci + Km) - fraction].
double one_point_vcmax_fraction(double Asat, double Ci, double fraction, const Kinetics& k);

}  // namespace leafwright
