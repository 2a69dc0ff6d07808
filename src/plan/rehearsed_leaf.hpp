// The leaf of a rehearsal: what it takes up from given chamber air.
//
//   C3   leaf/c3.hpp with infinite gm. With Ci = [(g - E/2) C - A]/(g + E/2) put in, A is the root
//        of the same quadratic as for a mesophyll conductance g + E/2 behind the CO2
//        C (g - E/2)/(g + E/2): closed form.
//   C4   von Caemmerer 2000, enzyme-limited (Vp = min(Vpmax C/(C + Kp), Vpr), Rm = Rday/2):
//        quadratic in A, or its linear form A = min(Vp + gbs C - Rm, Vcmax - Rday). Ci is found
//        by bisection.
// CO2 here and all constants are mole fractions at the leaf's pressure.
#pragma once

#include "leaf/c3.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright {

/// Capacities in umol m-2 s-1; Kc, Kp, umol mol-1; Ko, O mmol mol-1; gbs mol m-2 s-1.
struct RehearsedC4 {
  double Vcmax = 34, Vpmax = 85, Vpr = 58, Rday = 0.8;
  double Kp = 80;
  double gbs = 0.003;
  double Kc = 650, Ko = 450;     ///< of C4 Rubisco
  double gamma_star = 0.000193;  ///< half the reciprocal of its specificity, mol mol-1
  double O = 210;                ///< mmol mol-1
  double alpha = 0;              ///< share of photosystem II in the bundle sheath
  bool linear = false;           ///< the linear form
};

struct RehearsedLeaf {
  bool c4 = false;
  C3Leaf c3;
  Kinetics kinetics;
  Electrons electrons;
  RehearsedC4 c4_leaf;
};

/// A at intercellular CO2 `Ci` >= 0.
double demand(const RehearsedLeaf& leaf, double Ci);

struct Uptake {
  double A = 0;   ///< umol m-2 s-1
  double Ci = 0;  ///< umol mol-1
};

/// Ci = [(g - E/2) C - A]/(g + E/2); g and E in mol m-2 s-1.
double intercellular(double C, double A, double g, double E);

/// A and Ci together in chamber air `C`, umol mol-1; g > E/2 the conductance to CO2 from chamber
/// to Ci.
Uptake uptake(const RehearsedLeaf& leaf, double C, double g, double E);

}  // namespace leafwright
