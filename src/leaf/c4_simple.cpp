#include "leaf/c4_simple.hpp"

#include <algorithm>
#include <cmath>

#include "leaf/response.hpp"
#include "quantity/constants.hpp"

namespace leafwright {
namespace {

constexpr double quantum_yield = 0.05;   // mol CO2 per mol absorbed photons
constexpr double kp_over_vcmax = 20000;  // per mol mol-1
constexpr double rd_over_vcmax = 0.025;
constexpr double q10 = 2, s1 = 0.3, s2 = 313.15, s3 = 0.2, s4 = 288.15;

}  // namespace

SimpleC4Leaf simple_c4_leaf(double Vcmax25) {
  return {Vcmax25, kp_over_vcmax * Vcmax25, rd_over_vcmax * Vcmax25};
}

double simple_c4_assimilation(double Ci, double Qabs, const SimpleC4Leaf& leaf) {
  return std::min({leaf.Vcmax, quantum_yield * Qabs, leaf.kp * Ci * 1e-6}) - leaf.Rday;
}

double simple_c4_temperature_factor(double tleaf) {
  const double T = tleaf + zero_celsius;
  return std::pow(q10, (T - reference_temperature) / 10) /
         ((1 + std::exp(s1 * (T - s2))) * (1 + std::exp(s3 * (s4 - T))));
}

}  // namespace leafwright
