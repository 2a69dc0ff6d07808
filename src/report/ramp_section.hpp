// Gas paths and ramps in the report of a whole study.
#pragma once

#include <string>

#include "base/error.hpp"
#include "report/run_document.hpp"

namespace leafwright {

/// HTML with the id "ramps": each gas path with its verdict and the empty records as figures, a
/// table of the ramps (correction, lag, rows left out), a figure with and without correction, and
/// what conditions speak against an empty record. Empty where the study has no ramps and no empty
/// records. Errors: those of the figures.
Result<std::string> ramp_section(const RunDocument& run);

}  // namespace leafwright
