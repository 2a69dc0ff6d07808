#include "chamber.hpp"

#include <algorithm>
#include <cmath>

namespace leafwright::demo {
namespace {

double side_factor(double ratio) {
  return (ratio * ratio + 1) / ((ratio + 1) * (ratio + 1));
}

/// Halves [low, high] until nothing is left; `rises(x)` says whether the root lies above x.
template <class Above>
double bisect(double low, double high, Above above) {
  for (int i = 0; i < 100; ++i) {
    const double middle = (low + high) / 2;
    (above(middle) ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

double saturation(double t) {
  return 0.61365 * std::exp(17.502 * t / (240.97 + t));
}

Derived derive(const Readings& r) {
  const double per_area = r.flow * 1e-6 / (r.area * 1e-4);  // mol m-2 s-1
  const double wi = r.H2Or / 1000, wo = r.H2Os / 1000, wl = saturation(r.Tleaf) / r.Patm;
  const double kf_over_gbw = side_factor(r.stomatal_ratio) / (r.gbw / 1000);
  const double E = per_area * (wo - wi) / (1 - wo);
  const double A = per_area * (r.CO2r - r.CO2s * (1 - wi) / (1 - wo));
  const double gtw = E * (1 - (wl + wo) / 2) / (wl - wo);
  const double gsw = 1 / (1 / gtw - kf_over_gbw);
  const double gtc = 1 / (1.6 / gsw + 1.37 * kf_over_gbw);
  Derived d;
  d.E = E * 1000;
  d.A = A;
  d.gsw = gsw * 1000;
  d.Ci = ((gtc - E / 2) * r.CO2s - A) / (gtc + E / 2);
  d.VPDleaf = saturation(r.Tleaf) - wo * r.Patm;
  d.RHs = 100 * wo * r.Patm / saturation(r.Tair);
  return d;
}

Limitation settle(Readings& r, double gsw, const C3Leaf& leaf, const Kinetics& kinetics) {
  const double per_area = r.flow * 1e-6 / (r.area * 1e-4);
  const double wi = r.H2Or / 1000, wl = saturation(r.Tleaf) / r.Patm;
  const double kf_over_gbw = side_factor(r.stomatal_ratio) / (r.gbw / 1000);
  const double gtw = 1 / (1000 / gsw + kf_over_gbw);
  // Water: what leaves the leaf against what leaves the chamber.
  const double wo = bisect(wi, wl, [&](double w) {
    return gtw * (wl - w) / (1 - (wl + w) / 2) > per_area * (w - wi) / (1 - w);
  });
  r.H2Os = wo * 1000;
  const double E = per_area * (wo - wi) / (1 - wo);
  const double gtc = 1 / (1.6 * 1000 / gsw + 1.37 * kf_over_gbw);
  const auto chamber_co2 = [&](double A) { return (r.CO2r - A / per_area) * (1 - wo) / (1 - wi); };
  const auto ci = [&](double A) {
    return std::max(1e-3, ((gtc - E / 2) * chamber_co2(A) - A) / (gtc + E / 2));
  };
  // CO2: the leaf's demand at the Ci that its own uptake leaves.
  const double A =
      bisect(-20, 120, [&](double a) { return c3_assimilation(ci(a), leaf, kinetics).A > a; });
  r.CO2s = chamber_co2(A);
  return c3_assimilation(ci(A), leaf, kinetics).limited_by;
}

}  // namespace leafwright::demo
