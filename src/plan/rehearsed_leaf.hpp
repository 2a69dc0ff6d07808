// The leaf of a rehearsal: what it takes up from given chamber air.
//
//   C3   leaf/c3.hpp with infinite gm. With Ci = [(g - E/2) C - A]/(g + E/2) put in, A is the root
//        of the same quadratic as for a mesophyll conductance g + E/2 behind the CO2
//        C (g - E/2)/(g + E/2): closed form.
//   C4   leaf/c4.hpp, enzyme-limited, with infinite gm: the quadratic or its linear form. Ci is
//   found
//        by bisection, Cm = Ci P.
// CO2 here is a mole fraction.
#pragma once

#include "leaf/c3.hpp"
#include "leaf/c4.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright {

struct RehearsedC4 {
  C4Leaf leaf;
  C4Kinetics kinetics;
  double pressure = 100;  ///< kPa; at 100 kPa 1 umol mol-1 is 1 ubar
  bool linear = false;    ///< c4_enzyme_limited_linear
};

struct RehearsedLeaf {
  bool c4 = false;
  C3Leaf c3;
  Kinetics kinetics;
  Electrons electrons;
  RehearsedC4 as_c4;
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
