// What became of one ramp, and of the empty records that a ramp was corrected with.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "ramp/gas_path.hpp"
#include "ramp/offset_table.hpp"

namespace leafwright {

struct CorrectedRamp;

/// One ramp: corrected, or failed with a reason.
struct RampOutcome {
  std::string name;  ///< of a study: the id of its curve
  std::shared_ptr<const CorrectedRamp> ramp;
  std::string failed;
  std::string log = {};  ///< of a study: the log it stands in
  std::string path =
      {};  ///< name of the gas path it was corrected with; "" where there is one only
  std::vector<std::size_t> record_row = {};  ///< of each row of its curve: the row of the record
  /// The same ramp without any correction, for the picture; null where it is not shown.
  std::shared_ptr<const CorrectedRamp> plain = {};
};

/// A gas path of a study: the empty records of one instrument on one date.
struct PathOutcome {
  std::string name;        ///< "demo/recorder.toml, 2025-06-20"
  std::string instrument;  ///< its file; "" where none was given
  std::optional<std::string> date;
  std::vector<std::string> records;
  std::optional<GasPath> path;
  std::string verdict;
  std::string failed;                       ///< why there is none
  std::optional<OffsetChange> change = {};  ///< since the date before, of the same instrument
};

}  // namespace leafwright
