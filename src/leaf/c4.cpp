#include "leaf/c4.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double ubar_per_mbar = 1000;
constexpr double highest_cm = 1e4;  // ubar

/// a A^2 - B A + c = 0, smaller root, without cancellation (B > 0 in the model's range).
double smaller_root(double a, double B, double c) {
  const double root = std::sqrt(std::max(0.0, B * B - 4 * a * c));
  return B > 0 ? 2 * c / (B + root) : (B - root) / (2 * a);
}

/// The quadratic of one side: supply S = Vp - Rm + gbs Cm, capacity V, and Rubisco's terms in the
/// leak, u = gbs (K or 7/3 gamma* O), w = the coefficient of Rday in B (Kc/Ko or 7/3 gamma*).
struct Side {
  double S, V, R, m;
  double g;  // gbs gamma* O
  double u;  // gbs Kc (1 + O/Ko) or gbs 7/3 gamma* O
  double q;  // (alpha/ao) gamma*
  double w;  // (alpha/ao) Kc/Ko or (alpha/ao) 7/3 gamma*
  [[nodiscard]] double a() const { return 1 - w; }
  [[nodiscard]] double B() const { return S + (V - R) + u + q * V + w * R; }
  [[nodiscard]] double c() const { return (V - R) * S - V * g - R * u; }
};

struct SideRate {
  double A, by_S, by_V, by_R;
};

SideRate solve(const Side& s) {
  SideRate out{};
  const double a = s.a(), B = s.B();
  out.A = smaller_root(a, B, s.c());
  // F = a A^2 - B A + c;  dA/dp = (B_p A - c_p)/(2 a A - B).
  const double slope = 2 * a * out.A - B;
  out.by_S = (out.A - (s.V - s.R)) / slope;
  out.by_V = ((1 + s.q) * out.A - (s.S - s.g)) / slope;
  const double B_R = -1 + s.w;
  out.by_R = (B_R * out.A + s.S + s.u) / slope;
  return out;
}

}  // namespace

double c4_pep_rate(double Cm, const C4Leaf& leaf, const C4Kinetics& k) {
  const double by_co2 = leaf.Vpmax < infinity ? Cm * leaf.Vpmax / (Cm + k.Kp) : infinity;
  return std::min(by_co2, leaf.Vpr);
}

C4Partial c4_enzyme_limited(double Cm, double Vp, double Vcmax, double Rday, const C4Kinetics& k) {
  const double O = ubar_per_mbar * k.O, Ko = ubar_per_mbar * k.Ko;
  const double share = k.alpha / k.ao;
  const double S = Vp - k.rm_share * Rday + k.gbs * Cm;
  const double g = k.gbs * k.gamma_star * O;
  C4Partial out;
  if (!(Vcmax < infinity)) {
    const double scale = 1 / (1 + share * k.gamma_star);
    out.A = (S - g) * scale;
    out.by_supply = scale;
    out.by_Rday = -k.rm_share * scale;
    out.by_Cm = k.gbs * scale;
    return out;
  }
  const Side side{S,
                  Vcmax,
                  Rday,
                  k.rm_share,
                  g,
                  k.gbs * k.Kc * (1 + O / Ko),
                  share * k.gamma_star,
                  share * k.Kc / Ko};
  const SideRate rate = solve(side);
  out.A = rate.A;
  out.by_supply = rate.by_S;
  out.by_capacity = rate.by_V;
  out.by_Rday = rate.by_R - k.rm_share * rate.by_S;
  out.by_Cm = k.gbs * rate.by_S;
  return out;
}

C4Partial c4_light_limited(double Cm, double J, double Rday, const C4Kinetics& k) {
  if (!(J < infinity)) throw std::logic_error("c4_light_limited: needs a finite J");
  const double O = ubar_per_mbar * k.O;
  const double share = k.alpha / k.ao;
  const double supply = k.x * k.z / 2, capacity = (1 - k.x) * k.z / 3;
  const double seven = 7.0 / 3.0 * k.gamma_star;
  const Side side{supply * J - k.rm_share * Rday + k.gbs * Cm,
                  capacity * J,
                  Rday,
                  k.rm_share,
                  k.gbs * k.gamma_star * O,
                  k.gbs * seven * O,
                  share * k.gamma_star,
                  share * seven};
  const SideRate rate = solve(side);
  C4Partial out;
  out.A = rate.A;
  out.by_supply = supply * rate.by_S + capacity * rate.by_V;
  out.by_Rday = rate.by_R - k.rm_share * rate.by_S;
  out.by_Cm = k.gbs * rate.by_S;
  return out;
}

C4Rate c4_assimilation(double Cm, const C4Leaf& leaf, const C4Kinetics& k) {
  const double Vp = c4_pep_rate(Cm, leaf, k);
  C4Rate rate{infinity, C4Side::enzyme};
  if (Vp < infinity) rate.A = c4_enzyme_limited(Cm, Vp, leaf.Vcmax, leaf.Rday, k).A;
  if (leaf.J < infinity) {
    const double Aj = c4_light_limited(Cm, leaf.J, leaf.Rday, k).A;
    if (Aj < rate.A) rate = {Aj, C4Side::light};
  }
  if (!(rate.A < infinity)) throw std::logic_error("c4_assimilation: nothing limits");
  return rate;
}

double c4_enzyme_limited_linear(double Cm, const C4Leaf& leaf, const C4Kinetics& k) {
  return std::min(c4_pep_rate(Cm, leaf, k) + k.gbs * Cm - k.rm_share * leaf.Rday,
                  leaf.Vcmax - leaf.Rday);
}

double c4_light_limited_linear(double Cm, const C4Leaf& leaf, const C4Kinetics& k) {
  return std::min(k.x * k.z * leaf.J / 2 - k.rm_share * leaf.Rday + k.gbs * Cm,
                  (1 - k.x) * k.z * leaf.J / 3 - leaf.Rday);
}

BundleSheath c4_bundle_sheath(double Cm, double A, double Vp, double Rday, const C4Kinetics& k) {
  BundleSheath out;
  out.Cs = Cm + (Vp - A - k.rm_share * Rday) / k.gbs;
  out.Os = k.O + k.alpha * A / (k.ao * k.gbs) / ubar_per_mbar;
  return out;
}

std::optional<double> c4_compensation_point(const C4Leaf& leaf, const C4Kinetics& k) {
  double low = 0, high = highest_cm;
  if (!(c4_assimilation(high, leaf, k).A > 0)) return {};
  if (c4_assimilation(low, leaf, k).A >= 0) return 0.0;
  // A rises with Cm; 80 halvings reach the last digit.
  for (int i = 0; i < 80; ++i) {
    const double middle = (low + high) / 2;
    (c4_assimilation(middle, leaf, k).A < 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

double c4_slope(double Cm, const C4Leaf& leaf, const C4Kinetics& k) {
  if (c4_assimilation(Cm, leaf, k).limited_by == C4Side::light) {
    return c4_light_limited(Cm, leaf.J, leaf.Rday, k).by_Cm;
  }
  const double Vp = c4_pep_rate(Cm, leaf, k);
  const C4Partial p = c4_enzyme_limited(Cm, Vp, leaf.Vcmax, leaf.Rday, k);
  const bool regenerated = Vp >= leaf.Vpr;
  const double rise = regenerated ? 0 : leaf.Vpmax * k.Kp / ((Cm + k.Kp) * (Cm + k.Kp));
  return p.by_supply * rise + p.by_Cm;
}

double c4_slope_against_ci(double slope, double gm) {
  return 1 / (1 / slope + 1 / gm);
}

}  // namespace leafwright
