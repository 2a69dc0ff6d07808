// What `flux` says of a log besides the table: JSON, the meta file beside the CSV, text.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "log/flux.hpp"
#include "log/flux_csv.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

/// Pointers must outlive the document.
struct FluxDocument {
  FluxSource source;
  const FluxRows* rows = nullptr;
  std::vector<FluxColumn> columns;  ///< of the table; may be empty
  std::vector<const Settings*> settings;
  std::vector<InputFile> inputs;  ///< log, map, instrument, samples
  Notes notes;                    ///< of the table, the time, the cutting, the samples, the fluxes
  std::vector<std::string> problems;
};

/// One curve in numbers.
struct FluxCurveSummary {
  std::string curve_id;
  std::size_t rows = 0, used = 0, flagged = 0;
  std::optional<double> A_low, A_high, Ci_low, Ci_high;  ///< of used rows
  std::string first_why;                                 ///< of the first row not used
};
std::vector<FluxCurveSummary> flux_curves(const FluxSource& source, const FluxRows& rows);

/// {"leafwright", "schema", "command": "flux", "inputs", "settings", "cut", "sources", "curves",
/// "left_out", "problems", "notes"}.
std::string flux_json(const FluxDocument& document);

/// The same with the columns of the table and the remarks that stood between the rows.
std::string flux_meta_json(const FluxDocument& document);

/// For people.
std::string flux_text(const FluxDocument& document);

}  // namespace leafwright
