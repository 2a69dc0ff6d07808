// The C4 model of von Caemmerer & Furbank (1999) as in von Caemmerer (2000, Biochemical Models of
// Leaf Photosynthesis), with the light-limited form of von Caemmerer (2021, J. Exp. Bot. 72:6003)
// through `C4Kinetics::z`. Cm, Cs in ubar, O in mbar, rates in umol m-2 s-1, gbs in mol m-2 s-1
// bar-1 (so gbs Cm is a rate).
//
//   Vp = min(Cm Vpmax/(Cm + Kp), Vpr)
//   Cs = Cm + (Vp - A - Rm)/gbs,  Os = alpha A/(ao gbs) + O,  Rm = rm_share Rday
//   A  = Vcmax (Cs - gamma* Os)/(Cs + Kc (1 + Os/Ko)) - Rday            enzyme-limited
//   the same with Vp = x z J/2 and (1-x) z J/3, 7/3 gamma* O in place of Kc (1 + O/Ko)    light
// Each is a quadratic a A^2 + b A + c = 0, smaller root; A = min of the two. With Vcmax infinite
// the first becomes linear: A = (Vp - Rm + gbs (Cm - gamma* O))/(1 + alpha gamma*/ao).
//
// Ranges: Cm >= 0, capacities >= 0 (infinity does not limit), Rday >= 0. Sources and what was
// looked up: docs/methods-c4.md.
#pragma once

#include <optional>

#include "leaf/c4_kinetics.hpp"

namespace leafwright {

/// Capacities at leaf temperature, umol m-2 s-1. Infinity = does not limit.
struct C4Leaf {
  double Vpmax = 0;
  double Vpr = 0;    ///< regeneration of PEP
  double Vcmax = 0;  ///< Rubisco
  double J = 0;      ///< electron transport
  double Rday = 0;
};

enum class C4Side { enzyme, light };

struct C4Rate {
  double A = 0;  ///< umol m-2 s-1
  C4Side limited_by = C4Side::enzyme;
};

/// Rate of PEP carboxylation at Cm.
double c4_pep_rate(double Cm, const C4Leaf& leaf, const C4Kinetics& k);

/// A by one side alone, with its derivatives by what enters the quadratic.
struct C4Partial {
  double A = 0;
  double by_supply = 0;    ///< dA/dVp (enzyme) or dA/dJ (light)
  double by_capacity = 0;  ///< dA/dVcmax (enzyme, 0 where infinite); 0 for light
  double by_Rday = 0;
  double by_Cm = 0;  ///< dA/dCm at constant Vp
};
/// Enzyme-limited for a given Vp. `Vcmax` may be infinite.
C4Partial c4_enzyme_limited(double Cm, double Vp, double Vcmax, double Rday, const C4Kinetics& k);
/// Light-limited; J must be finite (throws std::logic_error).
C4Partial c4_light_limited(double Cm, double J, double Rday, const C4Kinetics& k);

/// min of both sides. Throws std::logic_error where nothing limits (Vp and J infinite).
C4Rate c4_assimilation(double Cm, const C4Leaf& leaf, const C4Kinetics& k);

/// The linear approximations of the same book: min(Vp + gbs Cm - Rm, Vcmax - Rday) and
/// min(x z J/2 - Rm + gbs Cm, (1-x) z J/3 - Rday).
double c4_enzyme_limited_linear(double Cm, const C4Leaf& leaf, const C4Kinetics& k);
double c4_light_limited_linear(double Cm, const C4Leaf& leaf, const C4Kinetics& k);

/// CO2 (ubar) and O2 (mbar) of the bundle sheath when the leaf fixes `A`.
struct BundleSheath {
  double Cs = 0;
  double Os = 0;
};
BundleSheath c4_bundle_sheath(double Cm, double A, double Vp, double Rday, const C4Kinetics& k);

/// Cm (ubar) at which A = 0; empty where A stays below 0 up to 10,000 ubar.
std::optional<double> c4_compensation_point(const C4Leaf& leaf, const C4Kinetics& k);
/// dA/dCm (umol m-2 s-1 ubar-1).
double c4_slope(double Cm, const C4Leaf& leaf, const C4Kinetics& k);

/// Against Ci, with a conductance gm (mol m-2 s-1 bar-1) between: 1/(1/slope + 1/gm).
double c4_slope_against_ci(double slope, double gm);

}  // namespace leafwright
