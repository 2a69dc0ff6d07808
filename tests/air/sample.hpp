// One ordinary record and an independent forward leaf for the tests of this room: from gsw, A and
// the air to the mole fractions that an instrument would read, side by side, in mol and Pa.
#pragma once

#include <cmath>

#include "air/flux.hpp"

namespace leafwright::air_test {

/// A broad leaf in a small chamber, gbw per side, stomata unlike on its sides.
inline FluxInput ordinary_record() {
  FluxInput in;
  in.flow = 480;
  in.area = 6;
  in.CO2r = 420;
  in.CO2s = 402;
  in.H2Or = 14;
  in.H2Os = 19;
  in.Tleaf = 27;
  in.Patm = 98.5;
  in.gbw = 2900;
  in.Tair = 26;
  return in;
}

inline FluxOptions ordinary_options() {
  FluxOptions options;
  options.overpressure = 0.1;
  options.gbw_is = GbwIs::per_side;
  options.stomatal_ratio = 0.5;
  return options;
}

/// What a leaf with these conductances does to the air that leaves the chamber.
struct ForwardLeaf {
  double gsw = 0.25;          // mol m-2 s-1, both sides together
  double ratio = 0.5;         // stomata of the second side on those of the first
  double gb = 2.9;            // mol m-2 s-1, each side
  double Ci = 290e-6;         // mol mol-1
  double Tleaf = 27;          // degC
  double pressure = 98.6e3;   // Pa in the chamber
  double flow = 480e-6;       // mol s-1 into the chamber
  double area = 6e-4;         // m2
  double w_in = 14e-3;        // mol mol-1
  double c_in = 420e-6;       // mol mol-1, moist air
  double leak = 0;            // mol s-1 of CO2 per unit of mole fraction
  double c_ambient = 400e-6;  // mol mol-1
  double water_leak = 0;      // mol s-1 of water per unit of mole fraction
  double w_ambient = 12e-3;   // mol mol-1
};

struct ForwardAir {
  double E = 0, A = 0;  // mol m-2 s-1, true
  double w = 0, c = 0;  // mol mol-1 behind the leaf
};

/// Steady state by bisection on w and then c: no formula of the room is used.
inline ForwardAir forward(const ForwardLeaf& leaf) {
  const double es = 613.65 * std::exp(17.502 * leaf.Tleaf / (240.97 + leaf.Tleaf));
  const double wl = es / leaf.pressure;
  const double sides[] = {leaf.gsw / (1 + leaf.ratio), leaf.gsw * leaf.ratio / (1 + leaf.ratio)};
  double gtw = 0, gtc = 0;
  for (const double g : sides) {
    if (g == 0) continue;
    gtw += 1 / (1 / g + 1 / leaf.gb);
    gtc += 1 / (1.6 / g + 1.37 / leaf.gb);
  }
  ForwardAir air;
  const auto E_at = [&](double w) { return gtw * (wl - w) / (1 - (wl + w) / 2); };
  double low = 0, high = wl;
  for (int i = 0; i < 200; ++i) {
    const double w = (low + high) / 2;
    const double gained = leaf.area * E_at(w) - leaf.water_leak * (w - leaf.w_ambient);
    const double out = leaf.flow + gained;
    (leaf.flow * leaf.w_in + gained > out * w ? low : high) = w;
  }
  air.w = (low + high) / 2;
  air.E = E_at(air.w);
  const double out = leaf.flow + leaf.area * air.E - leaf.water_leak * (air.w - leaf.w_ambient);
  const auto A_at = [&](double c) { return gtc * (c - leaf.Ci) - air.E * (c + leaf.Ci) / 2; };
  low = 0;
  high = 1e-2;
  for (int i = 0; i < 200; ++i) {
    const double c = (low + high) / 2;
    const double lost = leaf.area * A_at(c) + leaf.leak * (c - leaf.c_ambient);
    (leaf.flow * leaf.c_in - lost > out * c ? low : high) = c;
  }
  air.c = (low + high) / 2;
  air.A = A_at(air.c);
  return air;
}

/// The record an instrument would keep of it.
inline FluxInput record_of(const ForwardLeaf& leaf, const ForwardAir& air) {
  FluxInput in;
  in.flow = 1e6 * leaf.flow;
  in.area = 1e4 * leaf.area;
  in.CO2r = 1e6 * leaf.c_in;
  in.CO2s = 1e6 * air.c;
  in.H2Or = 1e3 * leaf.w_in;
  in.H2Os = 1e3 * air.w;
  in.Tleaf = leaf.Tleaf;
  in.Patm = leaf.pressure / 1000 - 0.1;
  in.gbw = 1000 * leaf.gb;
  return in;
}

}  // namespace leafwright::air_test
