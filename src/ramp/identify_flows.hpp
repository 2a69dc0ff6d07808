// Inside identify.cpp: several chamber flows.
#pragma once

#include <vector>

#include "ramp/identify.hpp"

namespace leafwright::identify_detail {

/// Records whose median flows differ by less than `apart` (a fraction), in order of appearance.
std::vector<std::vector<const RampRecord*>> group_by_flow(const std::vector<RampRecord>& records,
                                                          double apart);

/// The first path, with L = a + b/u and the leak from all of them.
GasPath join_flows(std::vector<GasPath> paths, const Instrument& instrument);

}  // namespace leafwright::identify_detail
