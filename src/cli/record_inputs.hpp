// Logs of ramps and of the empty chamber as records, with their map and instrument.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "cli/console.hpp"
#include "log/instrument.hpp"
#include "log/log.hpp"
#include "ramp/record.hpp"
#include "report/fit_document.hpp"
#include "table/layout.hpp"

namespace leafwright::cli {

/// How all files of one call are read.
struct RecordChoice {
  std::string map;         ///< "" : none
  std::string instrument;  ///< "" : none
  LayoutChoice layout;
  std::string curve = "curve_id";  ///< rows with the same value are one record
  std::vector<std::string> only;   ///< COLUMN=VALUE
  std::string time_zone;           ///< "" : the clock as it stands
};

/// What was read. Every fault that stopped nothing has been told on standard error.
struct RecordInputs {
  std::vector<RampRecord> records;  ///< in the order of the files, within one in that of the rows
  std::vector<std::shared_ptr<const Log>> logs;  ///< the log of each record
  Instrument instrument;
  std::vector<InputFile> files;
  std::vector<std::string> problems;
};

/// Reads map and instrument once, then every log. Errors: that of the first file that cannot be
/// read; usage, for a file given twice.
Result<RecordInputs> read_records(const std::vector<std::string>& paths, const RecordChoice& choice,
                                  RecordRole role, Console& console);

/// The settings `curve`, `only`, `time-zone` of a call that reads records.
SettingTable record_settings();
/// They, and --map and --instrument (given as texts), as a choice.
RecordChoice record_choice(const Settings& records, const LayoutChoice& layout, std::string map,
                           std::string instrument);

}  // namespace leafwright::cli
