// Responses as text, CSV and JSON.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "fit/response_table.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

struct ResponseDocument {
  const ResponseRun* run = nullptr;       ///< required
  std::vector<const Settings*> settings;  ///< in the order to print
  std::vector<InputFile> inputs;
};

/// "velvet orbeck: Vcmax", or the parameter alone where there are no groups.
std::string response_name(const ResponseFit& fit);

/// An end of an interval: four digits, or "open".
std::string response_end_text(const std::optional<double>& value);

/// For people: a table per response, its equation and source, what was left out, notes.
std::string response_text(const ResponseDocument& document);

/// One row per estimate: group, of, form, symbol, unit, value, se, low, high, status, n, df, rmse.
std::string response_csv(const ResponseRun& run);

/// Everything, docs/formats/response.md.
std::string response_json(const ResponseDocument& document);

/// What stands beside the CSV: settings, inputs, columns.
std::string response_meta_json(const ResponseDocument& document);

}  // namespace leafwright
