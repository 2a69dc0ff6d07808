#include "fit/face.hpp"

#include <cmath>

namespace leafwright {
namespace {

/// Below these fractions of its own scale the pivot's curvature is rounding noise (from sums; from
/// rows in extended precision): the face is singular in the pivot. Its minimum then also lies on a
/// face with one ratio more pinned, or with Rday = 0, so nothing is lost by passing it over.
constexpr double singular_sums = 1e-13;
constexpr double singular_rows = 1e-22;

/// One group of rows that share a factor theta.
struct Group {
  double xx = 0, xd = 0, xA = 0;
  void add(const StateSums& s, double multiplier) {
    xx += multiplier * multiplier * s.xx;
    xd += multiplier * s.xd;
    xA += multiplier * s.xA;
  }
};

/// Groups and the maps V, J, T = multiplier * theta_group for a set of pins.
struct Grouping {
  std::array<Group, 3> groups;
  int used = 0;
  std::array<int, 3> of{-1, -1, -1};
  std::array<double, 3> multiplier{1, 1, 1};
};

Grouping make_groups(const Cell& cell, const Pins& pins, bool always_V) {
  Grouping g;
  // Multipliers of J and T relative to V (or to J where V is not joined), by union of pins.
  const bool vj = pins.rho || (pins.tau && pins.sigma);
  const bool jt = pins.tau || (pins.rho && pins.sigma);
  const bool vt = pins.sigma || (pins.rho && pins.tau);
  const double j_of_v =
      pins.rho ? pins.rho_at
               : (pins.tau && pins.sigma && pins.tau_at > 0 ? pins.sigma_at / pins.tau_at : 0);
  const double t_of_v = pins.sigma ? pins.sigma_at : pins.rho_at * pins.tau_at;
  const double t_of_j =
      pins.tau ? pins.tau_at
               : (pins.rho && pins.sigma && pins.rho_at > 0 ? pins.sigma_at / pins.rho_at : 0);
  const bool use_V = cell.c.count > 0 || always_V || vj || vt;
  const bool use_J = cell.j.count > 0 || vj || jt;
  const bool use_T = cell.p.count > 0 || vt || jt;
  if (use_V) {
    g.groups[0].add(cell.c, 1);
    g.of[0] = 0;
    g.used = 1;
  }
  if (use_J) {
    if (vj) {
      g.groups[0].add(cell.j, j_of_v);
      g.of[1] = 0;
      g.multiplier[1] = j_of_v;
    } else {
      g.of[1] = g.used++;
      g.groups[static_cast<std::size_t>(g.of[1])].add(cell.j, 1);
    }
  }
  if (use_T) {
    if (vt || (vj && jt)) {
      g.groups[0].add(cell.p, t_of_v);
      g.of[2] = 0;
      g.multiplier[2] = t_of_v;
    } else if (jt) {
      const auto index = static_cast<std::size_t>(g.of[1]);
      g.groups[index].add(cell.p, t_of_j);
      g.of[2] = g.of[1];
      g.multiplier[2] = t_of_j;
    } else {
      g.of[2] = g.used++;
      g.groups[static_cast<std::size_t>(g.of[2])].add(cell.p, 1);
    }
  }
  return g;
}

/// Fills the parameters of a solved face from its groups.
void finish(FaceSolution& out, const Grouping& g, const std::array<double, 3>& theta0, double pivot,
            double kappa, RdayMode rday_mode) {
  const auto value = [&](std::size_t parameter) {
    const auto i = static_cast<std::size_t>(g.of[parameter]);
    return g.multiplier[parameter] * (theta0[i] + out.slope[i] * pivot);
  };
  out.group = g.of;
  out.multiplier = g.multiplier;
  out.has_V = g.of[0] >= 0;
  out.has_J = g.of[1] >= 0;
  out.has_T = g.of[2] >= 0;
  if (out.has_V) out.V = value(0);
  if (out.has_J) out.J = value(1);
  if (out.has_T) out.T = value(2);
  out.R = kappa * pivot + 0.0;  // not -0
  out.rday_slope = rday_mode == RdayMode::fixed ? 0 : kappa;
  out.solved = true;
}

}  // namespace

bool FaceSolution::determines(Parameter a) const {
  switch (a) {
    case Parameter::Vcmax:
      return has_V;
    case Parameter::J:
      return has_J;
    case Parameter::TPU:
      return has_T;
    case Parameter::Rday:
      return pivot_variance > 0 && rday_slope != 0;
  }
  return false;
}

double FaceSolution::covariance(Parameter a, Parameter b) const {
  const auto slope_of = [&](Parameter q) {
    if (q == Parameter::Rday) return rday_slope;
    const auto i = static_cast<std::size_t>(q);
    return multiplier[i] * slope[static_cast<std::size_t>(group[i])];
  };
  double out = slope_of(a) * slope_of(b) * pivot_variance;
  if (a != Parameter::Rday && b != Parameter::Rday) {
    const auto i = static_cast<std::size_t>(a);
    const auto k = static_cast<std::size_t>(b);
    if (group[i] == group[k]) {
      out += multiplier[i] * multiplier[k] * own[static_cast<std::size_t>(group[i])];
    }
  }
  return out;
}

FaceSolution solve_face(const Cell& cell, const Pins& pins, const CommonSums& common,
                        RdayMode rday_mode, double rday_value) {
  const bool fraction = rday_mode == RdayMode::fraction && rday_value > 0;
  const Grouping g = make_groups(cell, pins, fraction);
  FaceSolution out;
  // R = kappa * pivot in the coupled modes.
  const double kappa = fraction ? rday_value : 1;
  double q2 = kappa * kappa * common.dd;
  double q1 = kappa * common.dA;  // the minimum of q0 + 2 q1 z + q2 z^2
  double q0 = common.AA;
  double size2 = q2;
  std::array<double, 3> theta0{};
  for (int k = 0; k < g.used; ++k) {
    const auto i = static_cast<std::size_t>(k);
    const Group& group = g.groups[i];
    if (fraction && k == 0) {
      q2 += group.xx - 2 * kappa * group.xd;
      q1 -= group.xA;
      size2 += group.xx;
      continue;
    }
    if (!(group.xx > 0)) {
      // No row depends on this factor (rows at Gamma* or at TPU = 0 only).
      out.own[i] = 0;
      continue;
    }
    theta0[i] = group.xA / group.xx;
    out.slope[i] = kappa * group.xd / group.xx;
    out.own[i] = 1 / group.xx;
    q0 -= group.xA * theta0[i];
    q1 -= kappa * group.xd * theta0[i];
    q2 -= kappa * kappa * group.xd * group.xd / group.xx;
  }
  double pivot = 0;
  out.conditioning = q2 / size2;
  if (rday_mode == RdayMode::free || fraction) {
    if (!(out.conditioning > singular_sums)) return out;
    pivot = -q1 / q2;
    out.pivot_variance = 1 / q2;
    out.ssr = q0 + q1 * pivot;
  } else {
    out.conditioning = 1;
    pivot = rday_mode == RdayMode::fixed ? rday_value : 0;
    out.ssr = q0 + 2 * q1 * pivot + q2 * pivot * pivot;
  }
  if (fraction) {
    theta0[0] = 0;
    out.slope[0] = 1;
    out.own[0] = 0;
  }
  finish(out, g, theta0, pivot, kappa, rday_mode);
  return out;
}

FaceSolution solve_face_directly(const C3Problem& problem, const Assignment& assignment,
                                 const Pins& pins, RdayMode rday_mode, double rday_value) {
  using Real = long double;
  const std::size_t n = problem.size();
  Cell cell;
  std::array<StateSums*, 3> states{&cell.c, &cell.j, &cell.p};
  for (std::size_t i = 0; i < n; ++i) {
    ++states[static_cast<std::size_t>(assignment.state(i))]->count;
  }
  const bool fraction = rday_mode == RdayMode::fraction && rday_value > 0;
  const bool fixed = rday_mode == RdayMode::fixed || (rday_mode == RdayMode::fraction && !fraction);
  const Grouping g = make_groups(cell, pins, fraction);
  const Real kappa = fraction ? Real(rday_value) : Real(1);
  const Real rday = rday_mode == RdayMode::fixed ? Real(rday_value) : Real(0);
  const int pivot_group = fraction ? 0 : -1;

  // Row i: model = x theta_group + y pivot, y = -kappa d (+ x where the pivot is the group's own
  // factor).
  const auto group_of = [&](std::size_t i) {
    return g.of[static_cast<std::size_t>(assignment.state(i))];
  };
  const auto x_of = [&](std::size_t i) -> Real {
    const auto state = static_cast<std::size_t>(assignment.state(i));
    const double x = state == 0 ? problem.xc[i] : (state == 1 ? problem.xj[i] : problem.xp[i]);
    return Real(g.multiplier[state]) * Real(x);
  };
  const auto y_of = [&](std::size_t i) -> Real {
    if (fixed) return 0;
    return -kappa * Real(problem.d[i]) + (group_of(i) == pivot_group ? x_of(i) : Real(0));
  };
  const auto target = [&](std::size_t i) { return Real(problem.A[i]) + rday * Real(problem.d[i]); };

  std::array<Real, 3> xx{}, xy{}, xA{};
  for (std::size_t i = 0; i < n; ++i) {
    const int group = group_of(i);
    if (group < 0 || group == pivot_group) continue;
    const auto k = static_cast<std::size_t>(group);
    const Real wx = Real(problem.w[i]) * x_of(i);
    xx[k] += wx * x_of(i);
    xy[k] += wx * y_of(i);
    xA[k] += wx * target(i);
  }
  std::array<Real, 3> on_A{}, on_y{};
  for (std::size_t k = 0; k < 3; ++k) {
    if (!(xx[k] > 0)) continue;
    on_A[k] = xA[k] / xx[k];
    on_y[k] = xy[k] / xx[k];
  }
  Real q0 = 0, q1 = 0, q2 = 0, size2 = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const int group = group_of(i);
    const bool projected = group >= 0 && group != pivot_group;
    const auto k = static_cast<std::size_t>(projected ? group : 0);
    const Real e = target(i) - (projected ? on_A[k] * x_of(i) : Real(0));
    const Real y = y_of(i) - (projected ? on_y[k] * x_of(i) : Real(0));
    const Real w = Real(problem.w[i]);
    q0 += w * e * e;
    q1 += w * e * y;
    q2 += w * y * y;
    size2 += w * y_of(i) * y_of(i);
  }
  FaceSolution out;
  out.ssr = static_cast<double>(q0);
  Real pivot = rday;
  if (!fixed) {
    out.conditioning = size2 > 0 ? static_cast<double>(q2 / size2) : 0;
    if (!(out.conditioning > singular_rows)) return out;
    pivot = q1 / q2;
    out.pivot_variance = static_cast<double>(1 / q2);
    out.ssr = static_cast<double>(q0 - q1 * pivot);
  } else {
    out.conditioning = 1;
  }
  std::array<double, 3> theta0{};
  for (std::size_t k = 0; k < 3; ++k) {
    if (!(xx[k] > 0)) continue;
    theta0[k] = static_cast<double>(on_A[k]);
    out.slope[k] = fixed ? 0 : static_cast<double>(-on_y[k]);
    out.own[k] = static_cast<double>(1 / xx[k]);
  }
  if (fraction) {
    theta0[0] = 0;
    out.slope[0] = 1;
    out.own[0] = 0;
  }
  finish(out, g, theta0, static_cast<double>(pivot), static_cast<double>(kappa), rday_mode);
  return out;
}

}  // namespace leafwright
