#include "leaf/stomata.hpp"

#include <cmath>

namespace leafwright {

double ball_berry(double g0, double m, double A, double h, double CO2_surface) {
  return g0 + m * A * h / CO2_surface;
}

double leuning(double g0, double a1, double A, double CO2_surface, double Gamma, double D,
               double D0) {
  return g0 + a1 * A / ((CO2_surface - Gamma) * (1 + D / D0));
}

double medlyn(double g0, double g1, double A, double D, double CO2) {
  return g0 + 1.6 * (1 + g1 / std::sqrt(D)) * A / CO2;
}

double stomatal_limitation(double A_at_Ci, double A_at_Ca) {
  return 1 - A_at_Ci / A_at_Ca;
}

double stomatal_limitation_resistance(double gtc, double slope) {
  return slope / (slope + gtc);
}

}  // namespace leafwright
