// J of curves measured at several lights -> Jmax and the curvature of the light response of J:
//   theta J^2 - (I2 + Jmax) J + I2 Jmax = 0, smaller root,  I2 = Q absorptance (1 - f)/2
// (Farquhar & Wong 1984; f corrects for the spectrum: 0.15, von Caemmerer 2000; from memory). One
// light gives J, not Jmax; several give Jmax where the highest is near saturation.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "fit/response_fit.hpp"

namespace leafwright {

struct ElectronOptions {
  double absorptance = 1;       ///< 0..1, stated by the user; not looked at where the slope is free
  double spectral_loss = 0;     ///< f, 0..1
  bool slope_free = false;      ///< I2/Q is fitted instead of held at absorptance (1 - f)/2
  std::vector<double> at = {};  ///< umol m-2 s-1 of incident light: values asked for
};

/// Fits one group. `points`: x incident light, y J, both umol m-2 s-1. Estimates: Jmax, theta,
/// slope (I2/Q). `of` names what y is. Errors: unfit, for fewer distinct lights (or rows) than
/// parameters
/// + 1, light or J below zero, or a fit that does not converge.
Result<ResponseFit> fit_electron_transport(const std::string& of,
                                           const std::vector<ResponsePoint>& points,
                                           const ElectronOptions& options);

}  // namespace leafwright
