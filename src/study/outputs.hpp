// The files that a run leaves, as bytes, and what it says on a terminal.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "files/write.hpp"
#include "study/run.hpp"

namespace leafwright {

/// points.csv, points.csv.meta.json, fits.csv, fits.csv.meta.json, fits.json, figures/*.svg and
/// report.html in `folder`, and what else the study asks for (docs/formats/study.md). Errors: those
/// of the figures.
Result<std::vector<FileToWrite>> study_outputs(const StudyRun& run, const std::string& folder);

/// points.csv.meta.json: what the table was made from and with, and the units of its columns.
std::string points_meta_json(const StudyRun& run);

/// For people: the logs and what became of them, then the fits as `fit` shows them.
std::string study_text(const StudyRun& run);

}  // namespace leafwright
