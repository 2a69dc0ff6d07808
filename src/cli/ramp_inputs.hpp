// What commands on ramps of a leaf have in common: how the air is treated, and the gas path.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"
#include "cli/command.hpp"
#include "cli/record_inputs.hpp"
#include "ramp/correction.hpp"

namespace leafwright::cli {

/// The forms of the equations as the instrument states them.
FluxOptions air_of(const Instrument& instrument);

/// The path: from --path, else identified in the empties with `path_settings`. Of empties of
/// several dates those nearest in date to the leaf stay in `empties`; what the cells did between
/// the dates is told with every record of the leaf. Empty where no path is given and the correction
/// takes none. A file that was read is added to `files`. Errors: usage, no path where one is
/// needed, records of the leaf that belong to empties of several dates; those of the file, of
/// empties_of_date() and of identify().
Result<std::optional<GasPath>> take_path(const Call& call, const Settings& path_settings,
                                         CorrectionMethod method, RecordInputs& leaf,
                                         RecordInputs& empties, std::vector<InputFile>& files);

}  // namespace leafwright::cli
