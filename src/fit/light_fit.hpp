// Light response curves: the non-rectangular hyperbola of leaf/light.hpp fitted to A against light.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "fit/response_fit.hpp"

namespace leafwright {

struct LightOptions {
  std::optional<double> rday;      ///< umol m-2 s-1, fixed; empty: fitted
  double absorptance = 1;          ///< light of the points is multiplied by it
  bool absorptance_given = false;  ///< then phi counts absorbed light
  /// Rows for the straight line through low light, umol m-2 s-1 as measured: above the break near
  /// the compensation point (Kok effect), below the bend.
  double line_from = 0, line_to = 150;
  std::vector<double> at;  ///< umol m-2 s-1: values asked for
};

/// Fits one curve. `points`: x light and y A, both umol m-2 s-1. Estimates: phi, Amax (gross),
/// theta, Rday, LCP, Q90 (light where gross A is 90 % of Amax), and Rday_line with phi_line from
/// the straight line, where at least three rows lie in its range. Errors: unfit, for fewer than
/// five distinct light levels or rows than parameters + 1, or a fit that does not converge.
Result<ResponseFit> fit_light(const std::vector<ResponsePoint>& points,
                              const LightOptions& options);

}  // namespace leafwright
