// What commands on ramps of a leaf have in common: reading records and path, and correcting one.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "cli/command.hpp"
#include "cli/console.hpp"
#include "cli/record_inputs.hpp"
#include "ramp/correction.hpp"

namespace leafwright::cli {

/// Which of a call's groups of settings are which.
struct RampGroups {
  std::size_t records = 0, layout = 0, correction = 0, path = 0;
};

/// What was read of a leaf's ramps and of the empty chamber.
struct RampInputs {
  RecordInputs leaf, empties;
  std::optional<GasPath> path;   ///< empty: none was given, and the correction takes none
  std::vector<InputFile> files;  ///< all of them, the leaf's first
};

/// The options that name what is read and written.
std::vector<Option> ramp_options(std::string out_help, std::string json_help);

/// Every file that a call reads: inputs, --map, --instrument, --path and --empty.
std::vector<std::string> files_read(const Call& call, const RampGroups& groups);

/// Reads records and path. The path is that of --path, else identified in the empties. Of empties
/// of several dates those nearest in date to the leaf are kept; what the cells did between the
/// dates is told with every record of the leaf. Errors: usage, no path where one is needed, records
/// of the leaf that belong to empties of several dates; those of the files, of empties_of_date()
/// and of identify().
Result<RampInputs> read_ramp_inputs(const Call& call, const RampGroups& groups,
                                    CorrectionMethod method, Console& console);

/// Corrects one record of the leaf. Errors: those of joint_options() and correct().
Result<CorrectedRamp> correct_record(const Call& call, const RampGroups& groups,
                                     const RampInputs& inputs, const RampRecord& record,
                                     CorrectionOptions options);

}  // namespace leafwright::cli
