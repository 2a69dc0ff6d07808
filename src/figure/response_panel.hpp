// One response as a picture: the values, the fitted curve with its band, published responses
// beside.
#pragma once

#include <string>

#include "base/error.hpp"
#include "figure/colours.hpp"
#include "fit/response_fit.hpp"

namespace leafwright {

struct ResponseFigureOptions {
  double width_mm = 120;
  Theme theme = Theme::light;
};

/// The figure as SVG. Errors: those of render_chart.
Result<std::string> response_figure(const ResponseFit& fit,
                                    const ResponseFigureOptions& options = {});

}  // namespace leafwright
