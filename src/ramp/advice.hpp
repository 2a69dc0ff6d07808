// How to make both gas paths equally late.
//
//   volume   x = L f/60           x mL more between the split and the reference cell, f the flow
//                                 through the cell (mL min-1, actual); L < 0: shorten by -x
//   tube     l = 4 x/(pi ID^2)    and its pressure drop 128 mu l Q/(pi ID^4) (laminar: Hagen and
//                                 Poiseuille), mu = 1.458e-6 T^1.5/(T + 110.4) Pa s (U.S. Standard
//                                 Atmosphere 1976)
//   flow     u0 = -b/a            the chamber flow at which the lags are equal, from two flows;
//   from
//                                 one, b = P (V + V_inlet)/(R T) and a = L - b/u
// The null depends on the chamber flow, not on the rate or direction of the ramp (common practice,
// no source; the model agrees).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "ramp/gas_path.hpp"

namespace leafwright {

struct Instrument;

struct Advice {
  std::string change;  ///< "reference volume", "reference tube", "chamber flow"
  double amount = 0;   ///< to add (< 0: to take away); of the flow: the value to set
  std::optional<double> se;
  std::string unit;
  std::string note;
};

struct AdviceOptions {
  std::optional<double> rate;         ///< umol mol-1 s-1; empty: that of the records
  std::vector<double> bores_mm = {};  ///< empty: 1.59, 3.18 and 4.76
};

struct MatchingAdvice {
  std::optional<double> rate;                      ///< that the verdict is for, umol mol-1 s-1
  std::optional<WithError> residual_differential;  ///< lag x rate, umol mol-1
  std::optional<bool> equal_lag;                   ///< |lag x rate| <= 0.1 umol mol-1
  std::vector<Advice> advice;                      ///< empty where the lags are equal or not known
  std::vector<std::string> missing;                ///< what would be needed to say more
};

/// Largest |lag x rate| at which the lags count as equal, umol mol-1.
inline constexpr double equal_differential = 0.1;

MatchingAdvice advise(const GasPath& path, const Instrument& instrument,
                      const AdviceOptions& options = {});

/// Viscosity of dry air, Pa s, at `t` degC.
double air_viscosity(double t);
/// Pressure drop in kPa of `length_cm` of tube of `bore_mm` at `flow` mL min-1 (actual) and `t`
/// degC.
double tube_pressure_drop(double length_cm, double bore_mm, double flow, double t);
/// Reynolds number 4 rho Q/(pi ID mu) of that flow at `P` kPa: laminar below about 2000.
double tube_reynolds(double bore_mm, double flow, double t, double P);

}  // namespace leafwright
