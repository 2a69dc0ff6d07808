// The files of a `fit` call -> curves with ids that are unique over all of them.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "cli/console.hpp"
#include "log/points.hpp"
#include "report/fit_document.hpp"
#include "table/layout.hpp"

namespace leafwright::cli {

/// What was read, and what could not be. Every failure has been told on standard error.
struct FitInputs {
  std::vector<Curve> curves;
  std::vector<InputFile> files;
  std::vector<UnreadFile> unread;
  std::vector<UnreadCurveOf> unread_curves;
  std::vector<std::string> problems;
  Notes notes;
};

/// Reads every file; one that cannot be read does not stop the others. An id that stands in two
/// files becomes FILE:ID in both, with a note. Errors: that of the first file, when none could be
/// read; usage, for a file given twice.
Result<FitInputs> read_inputs(const std::vector<std::string>& paths, const LayoutChoice& layout,
                              const PointsOptions& options, Console& console);

}  // namespace leafwright::cli
