// One-point Vcmax as text, CSV and JSON.
#pragma once

#include <string>
#include <vector>

#include "base/setting.hpp"
#include "fit/one_point.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

struct OnePointDocument {
  const OnePointRun* run = nullptr;          ///< required
  const OnePointOptions* options = nullptr;  ///< required
  std::vector<const Settings*> settings;     ///< in the order to print
  std::vector<InputFile> inputs;
  std::vector<UnreadCurveOf> unread_curves;
  std::vector<std::string> problems;  ///< faults of the files that stopped nothing, with places
  Notes notes;                        ///< about the reading of the files
};

/// A table, its reasons, and the published error as that of the method.
std::string one_point_text(const OnePointDocument& document);
/// One row a value, refused ones included.
std::string one_point_csv(const OnePointDocument& document);
std::string one_point_json(const OnePointDocument& document);
/// What stands beside the CSV.
std::string one_point_meta_json(const OnePointDocument& document);

}  // namespace leafwright
