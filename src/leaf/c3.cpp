#include "leaf/c3.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <stdexcept>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::array<Limitation, 3> limitations = {Limitation::rubisco, Limitation::rubp,
                                                   Limitation::tpu};

// Every limitation has the form A + Rday = V (C - G*)/(C + x).
struct Hyperbola {
  double V = 0;
  double x = 0;
};

Hyperbola hyperbola(Limitation limitation, const C3Leaf& leaf, const Kinetics& k,
                    const Electrons& e, double alpha) {
  switch (limitation) {
    case Limitation::rubisco:
      return {leaf.Vcmax, k.Km};
    case Limitation::rubp:
      return {leaf.J / e.carboxylation, e.oxygenation * k.gamma_star / e.carboxylation};
    case Limitation::tpu:
      return {3 * leaf.TPU, -(1 + 3 * alpha) * k.gamma_star};
  }
  throw std::logic_error("c3: no such limitation");
}

// W/C: carboxylation per unit CO2, +infinity where it does not limit.
double carboxylation_per_c(Limitation limitation, double C, const C3Leaf& leaf, const Kinetics& k,
                           const Electrons& e, double alpha) {
  const Hyperbola h = hyperbola(limitation, leaf, k, e, alpha);
  return C + h.x > 0 ? h.V / (C + h.x) : infinity;
}

// The smaller root of A^2 - B A + c = 0, without cancellation for B > 0.
double smaller_root(double B, double c) {
  const double discriminant = B * B - 4 * c;
  if (discriminant < 0) return infinity;
  const double root = std::sqrt(discriminant);
  return B > 0 ? 2 * c / (B + root) : (B - root) / 2;
}

}  // namespace

const char* limitation_name(Limitation limitation) {
  switch (limitation) {
    case Limitation::rubisco:
      return "rubisco";
    case Limitation::rubp:
      return "rubp";
    case Limitation::tpu:
      return "tpu";
  }
  throw std::logic_error("limitation_name: no such limitation");
}

C3Rate c3_assimilation(double C, const C3Leaf& leaf, const Kinetics& k, const Electrons& e,
                       double alpha) {
  double lowest = infinity;
  C3Rate rate;
  for (const Limitation limitation : limitations) {
    const double w = carboxylation_per_c(limitation, C, leaf, k, e, alpha);
    if (w < lowest) {
      lowest = w;
      rate.limited_by = limitation;
    }
  }
  if (!std::isfinite(lowest)) throw std::logic_error("c3_assimilation: nothing limits");
  // (1 - G*/C) W written as (C - G*) (W/C), which does not cancel near G*.
  rate.A = (C - k.gamma_star) * lowest - leaf.Rday;
  return rate;
}

double c3_limited_rate(Limitation limitation, double C, const C3Leaf& leaf, const Kinetics& k,
                       const Electrons& e, double alpha) {
  const double w = carboxylation_per_c(limitation, C, leaf, k, e, alpha);
  if (limitation == Limitation::tpu && !std::isfinite(w)) return infinity;
  return (C - k.gamma_star) * w - leaf.Rday;
}

double c3_limited_rate_gm(Limitation limitation, double Ci, double gm, const C3Leaf& leaf,
                          const Kinetics& k, const Electrons& e, double alpha) {
  const Hyperbola h = hyperbola(limitation, leaf, k, e, alpha);
  if (!(gm > 0 && std::isfinite(gm)))
    throw std::logic_error("c3_limited_rate_gm: needs a finite gm > 0");
  if (!std::isfinite(h.V)) throw std::logic_error("c3_limited_rate_gm: needs a finite capacity");
  if (limitation == Limitation::tpu && alpha == 0) {
    // (C - G*) cancels: A does not depend on Cc, as long as Cc lies above G*.
    const double A = h.V - leaf.Rday;
    return Ci - A / gm > k.gamma_star ? A : infinity;
  }
  const double B = (h.V - leaf.Rday) + gm * (Ci + h.x);
  const double c = gm * (h.V * (Ci - k.gamma_star) - leaf.Rday * (Ci + h.x));
  const double A = smaller_root(B, c);
  if (limitation == Limitation::tpu && !(Ci - A / gm + h.x > 0)) return infinity;
  return A;
}

C3Rate c3_assimilation_gm(double Ci, double gm, const C3Leaf& leaf, const Kinetics& k,
                          const Electrons& e, double alpha) {
  // All limited rates are -Rday where Cc = G*, so this tells on which side of G* the leaf works.
  const bool above = Ci + leaf.Rday / gm > k.gamma_star;
  bool found = false;
  C3Rate rate;
  for (const Limitation limitation : limitations) {
    if (!std::isfinite(hyperbola(limitation, leaf, k, e, alpha).V)) continue;
    if (limitation == Limitation::tpu && !above) continue;
    const double A = c3_limited_rate_gm(limitation, Ci, gm, leaf, k, e, alpha);
    if (!std::isfinite(A)) continue;
    if (!found || (above ? A < rate.A : A > rate.A)) rate = {A, limitation};
    found = true;
  }
  if (!found) throw std::logic_error("c3_assimilation_gm: nothing limits");
  return rate;
}

double smooth_minimum(double a, double b, double theta) {
  const double sum = a + b;
  if (sum <= 0) return 0;
  // The smaller root with the cancellation removed; it also holds at theta = 0. Rounding may take
  // the discriminant, (a - b)^2 at theta = 1, below zero.
  return 2 * a * b / (sum + std::sqrt(std::max(0.0, sum * sum - 4 * theta * a * b)));
}

double electron_transport(double I2, double Jmax, double theta) {
  return smooth_minimum(I2, Jmax, theta);
}

double photosystem_light(double Q, double absorptance, double loss) {
  return Q * absorptance * (1 - loss) / 2;
}

double jmax_from_transport(double J, double I2, double theta) {
  return J < I2 ? J * (I2 - theta * J) / (I2 - J) : infinity;
}

double jmax_slope(double J, double I2, double theta) {
  const double left = I2 - J;
  return left > 0 ? (I2 * I2 - 2 * theta * I2 * J + theta * J * J) / (left * left) : infinity;
}

double compensation_point_rubisco(const C3Leaf& leaf, const Kinetics& k) {
  if (leaf.Vcmax <= leaf.Rday) return infinity;
  return (leaf.Vcmax * k.gamma_star + leaf.Rday * k.Km) / (leaf.Vcmax - leaf.Rday);
}

double one_point_vcmax(double Asat, double Ci, double Rday, const Kinetics& k) {
  return (Asat + Rday) * (Ci + k.Km) / (Ci - k.gamma_star);
}

double one_point_vcmax_fraction(double Asat, double Ci, double fraction, const Kinetics& k) {
  return Asat / ((Ci - k.gamma_star) / (Ci + k.Km) - fraction);
}

}  // namespace leafwright
