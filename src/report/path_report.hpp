// What `leafwright path` says: JSON that read_path() of ramp/path_json.hpp reads back, and text.
#pragma once

#include <string>
#include <vector>

#include "base/setting.hpp"
#include "log/instrument.hpp"
#include "ramp/advice.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/offset_table.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

/// Pointers must outlive the document.
struct PathDocument {
  const GasPath* path = nullptr;
  const MatchingAdvice* advice = nullptr;
  const Instrument* instrument = nullptr;
  std::vector<const Settings*> settings;
  std::vector<InputFile> inputs;  ///< records, map, instrument
  std::vector<std::string> problems;
  std::vector<OffsetChange> changes = {};  ///< of the cell difference, from date to date
};

/// docs/formats/path.md.
std::string path_json(const PathDocument& document);

/// For people: the verdict first, then the numbers, what to change, and notes.
std::string path_text(const PathDocument& document);

/// The verdict alone, one sentence.
std::string path_verdict(const GasPath& path, const MatchingAdvice& advice);

}  // namespace leafwright
