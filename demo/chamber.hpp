// A leaf in an open chamber at steady state, and what an operator's log records of it. Standard
// equations (von Caemmerer & Farquhar 1981, Planta 153:376), moist mole fractions:
//   E   = (u/s)(wo - wi)/(1 - wo)                 A  = (u/s)[ci - co (1 - wi)/(1 - wo)]
//   gtw = E [1 - (wl + wo)/2]/(wl - wo)           wl = es(Tleaf)/Patm
//   gsw = 1/(1/gtw - kf/gbw)                      kf = (K^2 + 1)/(K + 1)^2
//   gtc = 1/(1.6/gsw + 1.37 kf/gbw)               Ci = [(gtc - E/2) co - A]/(gtc + E/2)
//   es  = 0.61365 exp(17.502 T/(240.97 + T)) kPa (Buck 1981 with a fixed enhancement)
#pragma once

#include "leaf/c3.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright::demo {

/// es in kPa at `t` degC.
double saturation(double t);

/// What the sensors read, in the units of the log (mole fractions of moist air).
struct Readings {
  double CO2r = 0, CO2s = 0;   ///< umol mol-1
  double H2Or = 0, H2Os = 0;   ///< mmol mol-1
  double flow = 0;             ///< umol s-1
  double area = 0;             ///< cm2
  double Patm = 0;             ///< kPa
  double Tair = 0, Tleaf = 0;  ///< degC
  double Qin = 0;              ///< umol m-2 s-1
  double gbw = 0;              ///< mmol m-2 s-1, one side
  double stomatal_ratio = 0;   ///< upper over lower side
};

/// What the standard equations make of them.
struct Derived {
  double E = 0;        ///< mmol m-2 s-1
  double A = 0;        ///< umol m-2 s-1
  double gsw = 0;      ///< mmol m-2 s-1
  double Ci = 0;       ///< umol mol-1
  double VPDleaf = 0;  ///< kPa
  double RHs = 0;      ///< %
};
Derived derive(const Readings& r);

/// Fills CO2s and H2Os of `r` with the steady state of a leaf of stomatal conductance `gsw`
/// (mmol m-2 s-1) and these capacities at r.Tleaf. Returns the limitation that acts.
Limitation settle(Readings& r, double gsw, const C3Leaf& leaf, const Kinetics& kinetics);

}  // namespace leafwright::demo
