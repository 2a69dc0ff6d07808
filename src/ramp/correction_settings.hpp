// The settings of correcting a ramp.
#pragma once

#include "base/error.hpp"
#include "base/setting.hpp"
#include "ramp/correction.hpp"

namespace leafwright {

/// correction, empty, pairing, water-mean, balance-window, epsilon, trim, mixed-volume, drift-sd,
/// tau-error, filter-limit, and for joint: joint-leaf, joint-kinetics, joint-rday.
SettingTable correction_settings();

/// Everything but the leaf model of `joint` and the conditions. Error: usage.
Result<CorrectionOptions> correction_options(const Settings& settings);

/// The leaf model of `joint` at the record's mean leaf temperature and pressure. Errors: usage, no
/// joint-leaf or an unknown kinetics set; unfit, a record without Tleaf or Patm.
Result<JointOptions> joint_options(const Settings& settings, const RampRecord& leaf);

}  // namespace leafwright
