// Inside identify.cpp: is a record that of an empty chamber at one flow, and what must be said
// about the path that was found.
#pragma once

#include <vector>

#include "ramp/identify.hpp"

namespace leafwright::identify_detail {

/// Errors: refused, water of a leaf or a flow that steps; unfit, CO2r that stands still.
Result<void> check_record(const RampRecord& record, const IdentifyOptions& options);

/// Turns, missing flow.
void note_programmes(const std::vector<const RampRecord*>& records, GasPath& path);

/// Residuals that wander more than noise and drift explain.
void note_misfit(double misfit, GasPath& path);

/// Notes on what was found. Error: refused, offsets shaped like a leaf's uptake.
Result<void> check_path(const std::vector<const RampRecord*>& records,
                        const IdentifyOptions& options, GasPath& path);

}  // namespace leafwright::identify_detail
