// A table of values -> responses: which rows make which group, and every group's fit.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "fit/response_fit.hpp"
#include "table/table.hpp"

namespace leafwright {

/// What was asked for, once checked.
struct ResponseRun {
  std::vector<ResponseFit> fits;       ///< in order of first appearance of the groups
  std::vector<FailedResponse> failed;  ///< groups that could not be fitted, each with its reason
  Notes notes;                         ///< units assumed and the like
};

/// The settings `of`, `parameter`, `form`, `hd`, `at`, `model`, ...
SettingTable response_settings();

/// Fits every group of the table. Columns by the names of the open reporting format: temperature
/// needs Tleaf and the parameter (as in the CSV of `fit`), light A and Qin, stomata gsw, A, CO2s
/// and RHs or VPDleaf. `use` is honoured where it is there. Errors: usage, for settings that do not
/// fit together or the table; unreadable, for a needed column that is not there; refused, for
/// values that were drawn towards their group (shrunken.hpp).
Result<ResponseRun> fit_responses(const Table& table, const Settings& settings);

}  // namespace leafwright
