// The chamber and its leaf as ordinary differential equations (the equations of simulator.hpp),
// stepped by the classical Runge-Kutta method of fourth order.
#pragma once

#include <array>

#include "base/error.hpp"
#include "plan/simulator.hpp"

namespace leafwright {

/// C umol mol-1; W mol mol-1; gsw mmol m-2 s-1; A umol m-2 s-1; walls as C and W.
struct ChamberState {
  double C = 0, W = 0, gsw = 0, A = 0, wall_C = 0, wall_W = 0;
};

/// What the leaf does in a state. E, gtc mol m-2 s-1; A, Ci as in the reports.
struct LeafNow {
  double E = 0, gtc = 0, gsw = 0, A = 0, Ci = 0;
};

class ChamberModel {
 public:
  /// The settings must outlive the model.
  explicit ChamberModel(const SimulatorSettings& settings);

  /// The state in which nothing changes with `inlet` CO2 at time 0. Errors: unfit, where there is
  /// none.
  [[nodiscard]] Result<ChamberState> steady(double inlet) const;
  [[nodiscard]] LeafNow leaf(double t, const ChamberState& state) const;
  /// One step of `h` s from `t` with the inlet CO2 at its start, middle and end.
  [[nodiscard]] ChamberState step(double t, double h, const ChamberState& state,
                                  const std::array<double, 3>& inlet) const;
  [[nodiscard]] double moles() const { return moles_; }

 private:
  [[nodiscard]] ChamberState rate(double t, const ChamberState& state, double inlet) const;
  [[nodiscard]] double target_gsw(double t, double C) const;
  [[nodiscard]] double steady_water(double gsw) const;
  [[nodiscard]] double transpiration(double gsw, double W) const;

  const SimulatorSettings& s_;
  double moles_;       ///< n, mol
  double u_;           ///< mol s-1
  double area_;        ///< m2; 0 for an empty chamber
  double leaf_water_;  ///< wl, mol mol-1
};

}  // namespace leafwright
