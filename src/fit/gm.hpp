// C3 curves without a closed solution: finite mesophyll conductance gm (held or fitted), and the
// smooth minimum. The front door is fit_curves (fit.hpp), which comes here.
//
// Finite gm: A is the root of a quadratic, C = Ci - A/gm (Ethier & Livingston 2004). At one gm the
// fit starts from the exact solution with C = Ci - A/gm, A as observed, then minimises the true sum
// of squares over Vcmax, J, TPU, Rday in that cell and its neighbours, kinks pinned. A free gm is
// searched over its reciprocal, 0 (gm infinite, where the exact solver is certified) to where the
// sum of squares has risen beyond the profile's limit; its profile is the answer, since most curves
// leave it open above. Not certified; misses are measured (docs/methods-gm.md).
#pragma once

#include <memory>
#include <optional>
#include <span>

#include "fit/fit.hpp"
#include "fit/smooth.hpp"

namespace leafwright {

/// Do these options need the searches here?
bool is_numeric(const C3FitOptions& options);

Result<CurveFit> fit_numeric_c3_curve(const Curve& curve, const C3FitOptions& options,
                                      std::optional<double> correlation);
CampaignFit fit_numeric_c3(std::span<const Curve> curves, const C3FitOptions& options,
                           const Progress& progress, const Cancel* cancel);

/// A curve with finite gm: parameters V, J, TPU, Rday and 1/gm. `gm` empty: free. Errors: as
/// make_problem.
Result<std::unique_ptr<CurveModel>> make_gm_model(std::span<const Observation> observations,
                                                  LimitationSet permitted, const RdayChoice& rday,
                                                  const Electrons& electrons, double alpha,
                                                  std::optional<double> gm);

}  // namespace leafwright
