// Stomatal conductance to water vapour from assimilation, and how much stomata limit it.
//   Ball, Woodrow & Berry 1987   gs = g0 + m A h/cs
//   Leuning 1995                 gs = g0 + a1 A/[(cs - Gamma)(1 + D/D0)]     Plant Cell Env. 18:339
//   Medlyn et al. 2011           gs = g0 + 1.6 (1 + g1/sqrt(D)) A/ca          Glob. Change Biol.
//   17:2134
// (equations as printed in reviews; the papers themselves were not opened.)
//
// Units: gs, g0 mol m-2 s-1 (columns are mmol m-2 s-1: converted by the caller); A umol m-2 s-1;
// CO2 umol mol-1; D kPa; h a fraction (0..1) at the leaf surface; m, a1 pure numbers; g1 kPa^0.5.
#pragma once

namespace leafwright {

double ball_berry(double g0, double m, double A, double h, double CO2_surface);
double leuning(double g0, double a1, double A, double CO2_surface, double Gamma, double D,
               double D0);
double medlyn(double g0, double g1, double A, double D, double CO2);

/// Share of the assimilation at Ci = Ca that is lost by stomata: 1 - A(Ci)/A(Ca), both from the
/// fitted demand curve. Farquhar & Sharkey 1982, Annu. Rev. Plant Physiol. 33:317.
double stomatal_limitation(double A_at_Ci, double A_at_Ca);

/// The share of stomata in the sum of resistances at the operating point: r_s/(r_s + r_m) with
/// r_s = 1/gtc and r_m = dCi/dA of the demand curve. Jones 1985, Plant Cell Env. 8:95 (from
/// memory). gtc mol m-2 s-1, slope = dA/dCi in mol m-2 s-1. Sees the curve at one point only, so it
/// is lower where the curve is steep and 0 where it is flat.
double stomatal_limitation_resistance(double gtc, double slope);

}  // namespace leafwright
