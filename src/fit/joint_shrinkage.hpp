// How far values of leaves fitted together were drawn towards their group.
#pragma once

#include <optional>
#include <string>

#include "fit/joint_leaves.hpp"

namespace leafwright {

/// What the leaf gives by itself, umol m-2 s-1; empty where the parameter limits none of its rows.
std::optional<double> alone_value(const AloneLeaf& leaf, const std::string& name);

/// The share of their distance from each other that leaves keep: the slope of the least squares
/// line of the values together over those alone, of ln for capacities. 1: nothing was drawn, 0: all
/// leaves became equal. Empty with fewer than three leaves, or leaves that are equal alone.
std::optional<double> kept_distance(const JointGroupRun& run, const std::string& name);

}  // namespace leafwright
