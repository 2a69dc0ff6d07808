#include "air/moist_air.hpp"

#include "quantity/constants.hpp"

namespace leafwright {
namespace {

constexpr double molar_mass_ratio = 0.62198;  // water on dry air, WMO-No. 8 (2008)

// mol per cm3; kPa = 1e3 Pa and cm3 = 1e-6 m3
double density(double t, double p) {
  return p * 1e-3 / (gas_constant * (t + zero_celsius));
}

}  // namespace

double dry_fraction(double moist, double W) {
  return moist / (1 - W / 1000);
}

double moist_fraction(double dry, double W) {
  return dry * (1 - W / 1000);
}

double water_from_mixing_ratio(double r) {
  return r / (1 + r / 1000);
}

double mixing_ratio_from_water(double W) {
  return W / (1 - W / 1000);
}

double water_from_humidity(double rh, double saturation, double p) {
  return 10 * rh * saturation / p;
}

double humidity_from_water(double W, double saturation, double p) {
  return W * p / (10 * saturation);
}

double vapour_pressure_from_specific_humidity(double q, double p) {
  return q * p / (molar_mass_ratio + (1 - molar_mass_ratio) * q);
}

double vapour_pressure_from_mixing_ratio_by_mass(double r, double p) {
  return r * p / (molar_mass_ratio + r);
}

double molar_flow(double mL_per_min, double t, double p) {
  return mL_per_min / 60 * density(t, p) * 1e6;
}

double flow_by_volume(double umol_per_s, double t, double p) {
  return umol_per_s * 60 / (density(t, p) * 1e6);
}

double moles_of_air(double volume, double t, double p) {
  return volume * density(t, p);
}

}  // namespace leafwright
