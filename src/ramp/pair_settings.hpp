// The settings of pairs of ramps.
#pragma once

#include <array>
#include <string>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "ramp/pair.hpp"

namespace leafwright {

/// pair, own-lag, pair-smoothing.
SettingTable pair_settings();

/// own-lag and pair-smoothing. Error: usage.
Result<PairOptions> pair_options(const Settings& settings);

/// The two names of each `pair` = "UP,DOWN" (in either order). Error: usage, where they are not
/// two, or the same.
Result<std::vector<std::array<std::string, 2>>> stated_pairs(const Settings& settings);

}  // namespace leafwright
