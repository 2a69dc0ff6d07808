// What the correction of a ramp did: A against Ci with and without it.
#pragma once

#include <string>

#include "base/error.hpp"
#include "figure/colours.hpp"
#include "ramp/correction.hpp"

namespace leafwright {

struct RampPanelOptions {
  double width_mm = 85;
  Theme theme = Theme::light;
};

/// The figure as SVG: the rows that are kept, as corrected; those left out at both ends; and, where
/// `plain` is not null, the same ramp without any correction as a line. `name` is the heading.
/// Errors: those of render_chart.
Result<std::string> ramp_panel(const std::string& name, const CorrectedRamp& ramp,
                               const CorrectedRamp* plain, const RampPanelOptions& options = {});

}  // namespace leafwright
