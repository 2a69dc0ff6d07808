// The settings of identifying a gas path and of comparing conditions.
#pragma once

#include "base/error.hpp"
#include "base/setting.hpp"
#include "ramp/advice.hpp"
#include "ramp/conditions.hpp"
#include "ramp/identify.hpp"

namespace leafwright {

/// interpolation, offset-order, drift, drift-time, max-lag, averaging, empty-check, gasket.
SettingTable path_settings();
IdentifyOptions identify_options(const Settings& settings);

/// rate, bore.
SettingTable advice_settings();
/// Error: usage, a bore that is no number from 0.2 to 50 mm.
Result<AdviceOptions> advice_options(const Settings& settings);

/// condition-warn, condition-refuse, max-age, leaf-gasket.
SettingTable condition_settings();
ConditionOptions condition_options(const Settings& settings);

}  // namespace leafwright
