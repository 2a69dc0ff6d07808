// An up and a down ramp of one leaf: both ways with the leaf's own lag taken out, and what is left
// between them.
#pragma once

#include <span>
#include <string>

#include "base/error.hpp"
#include "figure/colours.hpp"
#include "ramp/pair.hpp"

namespace leafwright {

struct PairPanelOptions {
  double width_mm = 85;
  Theme theme = Theme::light;
};

/// The figure as SVG, two panels over Ci: A of both ways (points: as the pair gives them; dashed:
/// before the lag was taken out), and the difference of A, down less up, with its 95 % interval
/// once the lag is allowed for. Errors: those of render_chart.
Result<std::string> pair_panel(const std::string& name, std::span<const CorrectedRamp* const> ramps,
                               const RampPair& pair, const PairPanelOptions& options = {});

}  // namespace leafwright
