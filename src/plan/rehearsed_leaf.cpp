#include "plan/rehearsed_leaf.hpp"

#include <algorithm>

namespace leafwright {
double demand(const RehearsedLeaf& leaf, double Ci) {
  if (!leaf.c4) {
    return c3_assimilation(std::max(Ci, 1e-9), leaf.c3, leaf.kinetics, leaf.electrons).A;
  }
  const RehearsedC4& c4 = leaf.as_c4;
  const double Cm = std::max(Ci, 0.0) * c4.pressure / 100;
  return c4.linear ? c4_enzyme_limited_linear(Cm, c4.leaf, c4.kinetics)
                   : c4_assimilation(Cm, c4.leaf, c4.kinetics).A;
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
  double high = C + (leaf.as_c4.leaf.Rday + 1) / (g + E / 2);
  for (int i = 0; i < 200 && high - low > 1e-13 * (1 + high); ++i) {
    const double middle = (low + high) / 2;
    const bool above = intercellular(C, demand(leaf, middle), g, E) < middle;
    (above ? high : low) = middle;
  }
  const double Ci = (low + high) / 2;
  return {demand(leaf, Ci), Ci};
}

}  // namespace leafwright
