// The settings of fluxes. What a setting leaves open may come from the samples table, a column of
// the log or the instrument: option > samples > log column > instrument > default.
#pragma once

#include "base/setting.hpp"

namespace leafwright {

/// Physics, leaf, leak, storage, noise of the inputs, limits of flags.
SettingTable flux_settings();

}  // namespace leafwright
