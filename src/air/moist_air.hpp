// Moist air: wet and dry mole fractions, relative humidity, molar flow, moles in a chamber.
// Ideal gas, R = 8.314462618 J mol-1 K-1 (CODATA 2018, exact), 0 degC = 273.15 K.
//
// Water W in mmol, CO2 in umol, each per mol of moist air unless "dry" is said; pressures in kPa,
// temperatures in degC. Derivations: docs/methods-air.md. No function checks its arguments.
#pragma once

namespace leafwright {

/// Dilution by water: C_dry = C_moist/(1 - w), w = W/1000 < 1.
double dry_fraction(double moist, double W);
/// C_moist = C_dry (1 - w).
double moist_fraction(double dry, double W);

/// Water per moist air from water per dry air r (both mmol mol-1): w = r/(1 + r).
double water_from_mixing_ratio(double r);
/// r = w/(1 - w).
double mixing_ratio_from_water(double W);

/// Water mole fraction (mmol mol-1) at relative humidity `rh` (%), with `saturation` the vapour
/// pressure of saturated air (kPa) and `p` the total pressure (kPa): 1000 (rh/100) e_s/p.
double water_from_humidity(double rh, double saturation, double p);
/// Relative humidity (%) = 100 w p/e_s.
double humidity_from_water(double W, double saturation, double p);

/// Vapour pressure (kPa) from specific humidity q (kg of water per kg of moist air):
/// q p/(e + (1 - e) q) with e = 0.62198, the ratio of molar masses in WMO-No. 8 (2008), Annex 4.B.
double vapour_pressure_from_specific_humidity(double q, double p);
/// The same as WMO-No. 8 abridges it, with the mixing ratio for q: q p/(0.62198 + q).
double vapour_pressure_from_mixing_ratio_by_mass(double r, double p);

/// Molar flow (umol s-1) of a flow in mL min-1 measured at `t` and `p`: P V/(R T). A flow in
/// mL/min has no meaning without t and p: 500 mL/min is 371.79 umol/s at 0 degC and 101.325 kPa,
/// 340.62 at 25 degC.
double molar_flow(double mL_per_min, double t, double p);
/// mL min-1 at `t`, `p` of a molar flow in umol s-1.
double flow_by_volume(double umol_per_s, double t, double p);

/// Moles of air in `volume` cm3 at `t`, `p`: P V/(R T).
double moles_of_air(double volume, double t, double p);

}  // namespace leafwright
