// One A-Ci curve as a figure: points by state, the limiting rates, the fitted model, transitions,
// residuals, and what the fit says about each parameter.
#pragma once

#include <string>

#include "base/error.hpp"
#include "figure/svg.hpp"
#include "fit/result.hpp"
#include "log/curve.hpp"

namespace leafwright {

struct AciPanelOptions {
  double width_mm = 85;  ///< 85, 120, 180 (figure_widths_mm), or anything from 60 to 400
  Theme theme = Theme::light;
  std::string interval;                      ///< head of that column; empty: the fit's own
  std::string widened = "correlated noise";  ///< head of the column of widened intervals
};

/// The figure of a fitted curve as SVG. From 150 mm on the numbers stand beside the plot, else
/// below it.
///
/// - Thin dashed lines are net rates if one limitation acted alone; they are drawn only for
///   parameters that the data identify. The bold line is the fitted model over the used Ci.
/// - Rows not used are crosses, with their reason in the tooltip and in the text.
/// - An interval end that the data do not bound is printed as "> 7.9" or "< 64", never as a number
///   that was not estimated.
///
/// `curve` is the curve that was fitted. Errors: usage, for a width outside 60..400 mm.
Result<std::string> aci_panel(const CurveFit& fit, const Curve& curve,
                              const AciPanelOptions& options);

/// The figure of a curve that could not be fitted: its points and the reason.
Result<std::string> failed_panel(const FailedCurve& failed, const Curve& curve,
                                 const AciPanelOptions& options);

}  // namespace leafwright
