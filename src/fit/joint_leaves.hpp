// Curves -> groups of leaves -> the joint posterior of each group, with the settings of the call.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "base/setting.hpp"
#include "fit/fit.hpp"
#include "fit/joint_posterior.hpp"
#include "log/curve.hpp"

namespace leafwright {

/// What one leaf gives by itself, to stand beside its joint values; at the same temperature.
struct AloneLeaf {
  std::string leaf;
  C3Leaf fit;  ///< infinity where it limits no row
};

struct JointGroupRun {
  JointGroup group;
  std::vector<AloneLeaf> alone;  ///< in the order of group.leaves
};

struct JointRun {
  std::vector<JointGroupRun> groups;  ///< in order of first appearance
  std::vector<FailedCurve> failed;    ///< curves, and groups, each with its reason
  Notes notes;
};

/// The settings `chains`, `warm-up`, `sweeps`, `seed`, `spread-log`, `spread-rday`.
SettingTable joint_settings();

/// `fit` as in fit_options; capacities are moved to 25 degC by its `at25` set before leaves are
/// put together (without one, leaves whose Tleaf differ by more than 0.5 K are refused).
/// Limitations auto: Rubisco and RuBP. Errors: usage and refused, as fit_options, and for what has
/// no meaning here (Rday held, finite gm, a smooth minimum).
Result<JointRun> fit_jointly(std::span<const Curve> curves, const Settings& fit,
                             const Settings& joint, const Progress& progress = {},
                             const Cancel* cancel = nullptr);

}  // namespace leafwright
