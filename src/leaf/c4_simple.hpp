// The simple C4 model of Collatz, Ribas-Carbo & Berry (1992, Aust. J. Plant Physiol. 19:519) as in
// a land-surface model's technical note: three straight limits, here for comparison with models.
//
//   Ac = Vcmax,  Aj = 0.05 Qabs,  Ap = kp Ci/P;  gross A is the lowest (the original blends them)
//   kp25 = 20000 Vcmax25 (umol m-2 s-1 per mol mol-1),  Rd25 = 0.025 Vcmax25
//   Vcmax = Vcmax25 Q10^((T-298.15)/10)/[(1 + exp(s1 (T-s2)))(1 + exp(s3 (s4-T)))]
// The last factor is 0.871 at 25 degC, not 1: Vcmax25 is then no value at 25 degC.
#pragma once

namespace leafwright {

/// Capacities at leaf temperature.
struct SimpleC4Leaf {
  double Vcmax = 0;  ///< umol m-2 s-1
  double kp = 0;     ///< umol m-2 s-1 per mol mol-1
  double Rday = 0;   ///< umol m-2 s-1
};
/// kp and Rday that go with a Vcmax25, all at 25 degC and without the temperature factor.
SimpleC4Leaf simple_c4_leaf(double Vcmax25);

/// Net A at Ci (umol mol-1) and absorbed light Qabs (umol m-2 s-1).
double simple_c4_assimilation(double Ci, double Qabs, const SimpleC4Leaf& leaf);

/// Vcmax/Vcmax25 at tleaf (degC); Q10 = 2, s1 0.3 K-1, s2 313.15 K, s3 0.2 K-1, s4 288.15 K.
double simple_c4_temperature_factor(double tleaf);

}  // namespace leafwright
