#include "plan/rehearsed_leaf.hpp"

#include <algorithm>
#include <cmath>

namespace leafwright {
namespace {

double c4_demand(const RehearsedC4& leaf, double C) {
  const double Rm = leaf.Rday / 2;
  const double Vp = std::min(C * leaf.Vpmax / (C + leaf.Kp), leaf.Vpr);
  const double supply = Vp - Rm + leaf.gbs * C;
  const double capacity = leaf.Vcmax - leaf.Rday;
  if (leaf.linear) return std::min(supply, capacity);
  // von Caemmerer 2000, eqs 4.21-4.24; O and Ko in the unit of CO2 here.
  constexpr double ao = 0.047;  // diffusivity and solubility of O2 over CO2
  const double O = 1000 * leaf.O, Ko = 1000 * leaf.Ko;
  const double Km = leaf.Kc * (1 + O / Ko);
  const double leak = leaf.alpha / ao;
  const double a = 1 - leak * leaf.Kc / Ko;
  const double b = -(supply + capacity + leaf.gbs * Km +
                     leak * (leaf.gamma_star * leaf.Vcmax + leaf.Rday * leaf.Kc / Ko));
  const double c =
      capacity * supply - (leaf.Vcmax * leaf.gbs * leaf.gamma_star * O + leaf.Rday * leaf.gbs * Km);
  const double root = std::sqrt(std::max(0.0, b * b - 4 * a * c));
  return b < 0 ? 2 * c / (-b + root) : (-b - root) / (2 * a);
}

}  // namespace

double demand(const RehearsedLeaf& leaf, double Ci) {
  if (leaf.c4) return c4_demand(leaf.c4_leaf, std::max(Ci, 0.0));
  return c3_assimilation(std::max(Ci, 1e-9), leaf.c3, leaf.kinetics, leaf.electrons).A;
}

double intercellular(double C, double A, double g, double E) {
  return ((g - E / 2) * C - A) / (g + E / 2);
}

Uptake uptake(const RehearsedLeaf& leaf, double C, double g, double E) {
  if (!leaf.c4) {
    const double conductance = g + E / 2;
    const double outside = C * (g - E / 2) / conductance;
    const double A =
        c3_assimilation_gm(outside, conductance, leaf.c3, leaf.kinetics, leaf.electrons).A;
    return {A, outside - A / conductance};
  }
  // Demand rises and supply falls with Ci: one crossing, between 0 and where supply is no more
  // than what respiration gives off.
  double low = 0;
  double high = C + (leaf.c4_leaf.Rday + 1) / (g + E / 2);
  for (int i = 0; i < 200 && high - low > 1e-13 * (1 + high); ++i) {
    const double middle = (low + high) / 2;
    const bool above = intercellular(C, demand(leaf, middle), g, E) < middle;
    (above ? high : low) = middle;
  }
  const double Ci = (low + high) / 2;
  return {demand(leaf, Ci), Ci};
}

}  // namespace leafwright
