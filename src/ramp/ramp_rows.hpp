// Corrected ramps as rows of fluxes of the log they were recorded in.
#pragma once

#include <cstddef>

#include "log/flux.hpp"
#include "ramp/correction.hpp"

namespace leafwright {

/// Rows of fluxes of a log of `n` rows that say of every row that it was not computed, until a ramp
/// says otherwise.
FluxRows blank_flux_rows(std::size_t n);

/// Puts a corrected record into the rows of its log: values, use and why.
void place_ramp(const RampRecord& record, const CorrectedRamp& ramp, FluxRows& rows);

/// Says of rows that no record holds why they have no flux.
void leave_out_strays(const std::vector<char>& in_record, FluxRows& rows);

}  // namespace leafwright
