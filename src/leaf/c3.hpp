// The C3 model of Farquhar, von Caemmerer & Berry (1980) in terms of carboxylation rates W:
//   A = (1 - Gamma*/C) min(Wc, Wj, Wp) - Rday
//   Wc = Vcmax C/(C + Km)
//   Wj = J C/(a C + b Gamma*)             a/b = 4/8 (NADPH) or 4.5/10.5 (ATP)
//   Wp = 3 TPU C/(C - (1 + 3 alpha) Gamma*)   for C > (1 + 3 alpha) Gamma*, else no TPU limit
// The minimum is of W, not of net rates: below Gamma* the order of net rates flips (Gu et al. 2010;
// von Caemmerer 2000). alpha is the fraction of glycolate carbon not returned (Harley & Sharkey
// 1991). C is Ci where gm is infinite.
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
  double A = 0;  ///< umol m-2 s-1
  Limitation limited_by = Limitation::rubisco;  ///< ties go to the first of rubisco, rubp, tpu
};

/// Net assimilation at CO2 `C` (umol mol-1, > 0) with infinite gm. `alpha` in 0..1.
C3Rate c3_assimilation(double C, const C3Leaf& leaf, const Kinetics& k, const Electrons& e = {},
                       double alpha = 0);

/// Net rate if only this limitation acted, umol m-2 s-1; +infinity where TPU cannot limit.
double c3_limited_rate(Limitation limitation, double C, const C3Leaf& leaf, const Kinetics& k,
                       const Electrons& e = {}, double alpha = 0);

/// The same with finite mesophyll conductance gm (mol m-2 s-1): C = Ci - A/gm solved as a quadratic
/// (Ethier & Livingston 2004). Returns A under one limitation (infinite TPU etc. are not allowed).
double c3_limited_rate_gm(Limitation limitation, double Ci, double gm, const C3Leaf& leaf,
                          const Kinetics& k, const Electrons& e = {}, double alpha = 0);

/// J from light: theta J^2 - (I2 + Jmax) J + I2 Jmax = 0, smaller root (I2, Jmax, J in
/// umol m-2 s-1; theta in 0..1).
double electron_transport(double I2, double Jmax, double theta);

/// Compensation point with respiration where Rubisco limits: (Vcmax G* + Rday Km)/(Vcmax - Rday).
double compensation_point_rubisco(const C3Leaf& leaf, const Kinetics& k);

/// One-point Vcmax (De Kauwe et al. 2016): (Asat + Rday)(Ci + Km)/(Ci - G*).
double one_point_vcmax(double Asat, double Ci, double Rday, const Kinetics& k);
/// The same with Rday = fraction * Vcmax.
double one_point_vcmax_fraction(double Asat, double Ci, double fraction, const Kinetics& k);

}  // namespace leafwright
