#include "plan/chamber_model.hpp"

#include <algorithm>
#include <cmath>

#include "air/moist_air.hpp"
#include "air/vapour.hpp"
#include "numeric/roots.hpp"

namespace leafwright {
namespace {

ChamberState along(const ChamberState& x, const ChamberState& k, double h) {
  return {x.C + h * k.C, x.W + h * k.W,           x.gsw + h * k.gsw,
          x.A + h * k.A, x.wall_C + h * k.wall_C, x.wall_W + h * k.wall_W};
}

}  // namespace

ChamberModel::ChamberModel(const SimulatorSettings& settings)
    : s_(settings),
      moles_(moles_of_air(settings.paths.chamber, settings.air.Tair, settings.air.Patm)),
      u_(settings.air.flow * 1e-6),
      area_(settings.empty ? 0 : settings.area * 1e-4),
      leaf_water_(saturation_pressure(VapourPressure::leaf_common, settings.air.Tleaf) /
                  settings.air.Patm) {}

double ChamberModel::target_gsw(double t, double C) const {
  const SimulatedStomata& st = s_.stomata;
  const double drifted = std::max(0.0, 1 + st.drift * std::max(t, 0.0) / 60);
  return std::max(st.gsw * drifted * std::exp(-st.response * (C - 400) / 1000), 1e-3);
}

double ChamberModel::transpiration(double gsw, double W) const {
  const double gtw = total_conductance(gsw, s_.stomata.layer) / 1000;
  return gtw * (leaf_water_ - W) / (1 - (leaf_water_ + W) / 2);
}

LeafNow ChamberModel::leaf(double t, const ChamberState& state) const {
  LeafNow now;
  if (s_.empty) return now;
  now.gsw = s_.stomata.response_time > 0 ? state.gsw : target_gsw(t, state.C);
  now.E = transpiration(now.gsw, state.W);
  now.gtc = co2_conductance(now.gsw, s_.stomata.layer) / 1000;
  if (s_.lag_up > 0 || s_.lag_down > 0) {
    now.A = state.A;
    now.Ci = intercellular(state.C, now.A, now.gtc, now.E);
  } else {
    const Uptake taken = uptake(s_.leaf, state.C, now.gtc, now.E);
    now.A = taken.A;
    now.Ci = taken.Ci;
  }
  return now;
}

ChamberState ChamberModel::rate(double t, const ChamberState& x, double inlet) const {
  const LeafNow now = leaf(t, x);
  const SimulatedAir& air = s_.air;
  const double out = u_ + now.E * area_;
  ChamberState d;
  d.C =
      (u_ * inlet - out * x.C - now.A * area_ + air.leak * 1e-6 * (air.CO2_ambient - x.C)) / moles_;
  d.W = (u_ * air.H2Or / 1000 - out * x.W + now.E * area_ +
         air.water_leak * 1e-6 * (air.H2O_ambient / 1000 - x.W)) /
        moles_;
  if (air.wall_CO2 > 0) d.wall_C = (air.wall_CO2 * x.C - x.wall_C) / air.wall_time;
  if (air.wall_H2O > 0) d.wall_W = (air.wall_H2O * x.W - x.wall_W) / air.wall_time;
  d.C -= d.wall_C;
  d.W -= d.wall_W;
  if (s_.empty) return d;
  if (s_.stomata.response_time > 0) {
    d.gsw = (target_gsw(t, x.C) - x.gsw) / s_.stomata.response_time;
  }
  const double gap = demand(s_.leaf, now.Ci) - x.A;
  const double lag = gap > 0 ? s_.lag_up : s_.lag_down;
  // A direction without a lag of its own follows within four steps, so that one step stays stable.
  if (s_.lag_up > 0 || s_.lag_down > 0) d.A = gap / std::max(lag, 4 * s_.step);
  return d;
}

ChamberState ChamberModel::step(double t, double h, const ChamberState& x,
                                const std::array<double, 3>& inlet) const {
  const ChamberState k1 = rate(t, x, inlet[0]);
  const ChamberState k2 = rate(t + h / 2, along(x, k1, h / 2), inlet[1]);
  const ChamberState k3 = rate(t + h / 2, along(x, k2, h / 2), inlet[1]);
  const ChamberState k4 = rate(t + h, along(x, k3, h), inlet[2]);
  ChamberState next = along(x, k1, h / 6);
  next = along(next, k2, h / 3);
  next = along(next, k3, h / 3);
  return along(next, k4, h / 6);
}

double ChamberModel::steady_water(double gsw) const {
  // The balance falls with W (more water out, less in): bisection over what air can hold.
  const SimulatedAir& air = s_.air;
  const auto gain = [&](double W) {
    const double Es = s_.empty ? 0 : transpiration(gsw, W) * area_;
    return u_ * air.H2Or / 1000 + Es - (u_ + Es) * W +
           air.water_leak * 1e-6 * (air.H2O_ambient / 1000 - W);
  };
  double low = 0, high = 0.5;
  for (int i = 0; i < 60; ++i) {
    const double middle = (low + high) / 2;
    (gain(middle) > 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

Result<ChamberState> ChamberModel::steady(double inlet) const {
  const SimulatedAir& air = s_.air;
  const auto settled = [&](double C) {
    ChamberState x;
    x.C = C;
    x.gsw = s_.empty ? 0 : target_gsw(0, C);
    x.W = steady_water(x.gsw);
    x.wall_C = air.wall_CO2 * C;
    x.wall_W = air.wall_H2O * x.W;
    if (!s_.empty) {
      x.A = uptake(s_.leaf, C, co2_conductance(x.gsw, s_.stomata.layer) / 1000,
                   transpiration(x.gsw, x.W))
                .A;
    }
    return x;
  };
  const auto balance = [&](double C) {
    const ChamberState x = settled(C);
    const double Es = s_.empty ? 0 : transpiration(x.gsw, x.W) * area_;
    return (u_ * inlet - (u_ + Es) * C - x.A * area_ + air.leak * 1e-6 * (air.CO2_ambient - C)) /
           u_;
  };
  RootOptions fine;
  fine.relative = 1e-14;
  fine.absolute = 1e-12;
  const double high = std::max(inlet, air.CO2_ambient) + 100 * area_ / u_ + 1;
  const auto root = find_root(balance, 1e-9, high, fine);
  if (!root) {
    return fail(ErrorCode::unfit, "no steady state at the start: " + root.error().found,
                "a leaf that the chamber's air can feed at the CO2 that the record begins with");
  }
  return settled(root->x);
}

}  // namespace leafwright
