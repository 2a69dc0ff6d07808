// The gas path as a figure: CO2r, the differential with its fit, and the residuals over time.
#pragma once

#include <string>

#include "base/error.hpp"
#include "figure/svg.hpp"
#include "ramp/gas_path.hpp"

namespace leafwright {

struct PathPanelOptions {
  double width_mm = 120;
  Theme theme = Theme::light;
};

/// The figure of record number `trace` of a path as SVG. Three panels on one time axis: CO2r and
/// what the path makes of it; S less that, with the fitted offset; the residuals. `verdict` stands
/// below. Errors: usage, for a width outside 60..400 mm or a path without traces (read from a
/// file).
Result<std::string> path_panel(const GasPath& path, std::size_t trace, const std::string& verdict,
                               const PathPanelOptions& options = {});

}  // namespace leafwright
