// A whole study: logs -> points -> fits -> everything that the results say about themselves. No
// file is written here.
#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "base/progress.hpp"
#include "fit/fit.hpp"
#include "report/fit_document.hpp"
#include "report/run_document.hpp"
#include "study/log_step.hpp"
#include "study/study_file.hpp"

namespace leafwright {

struct RunOptions {
  unsigned threads = 0;  ///< 0: as many as the machine has; results do not depend on it
  Progress progress = {};
  const Cancel* cancel = nullptr;
};

/// Everything that a run made. `document()` points into it.
struct StudyRun {
  Study study;
  RunDocument about;
  std::vector<Curve> curves;
  CampaignFit campaign;
  std::vector<InputFile> inputs;  ///< the study file first
  std::vector<UnreadFile> unread;
  std::vector<UnreadCurveOf> unread_curves;
  std::vector<std::string> problems;
  Notes notes;
  std::string points_csv;  ///< every row of every curve: points.csv
  std::vector<std::pair<std::string, std::string>> points_columns;  ///< its names and units

  /// What could not be done, one line each, for standard error.
  std::vector<std::string> complaints;

  [[nodiscard]] FitDocument document() const;
  /// True also without a comparison; false where a leaf with both methods is no pair.
  [[nodiscard]] bool agreement_is_whole() const;
  /// Also without [pool] and [together]; false where a mean is missing, or leaves fitted together
  /// were not sampled well enough.
  [[nodiscard]] bool groups_are_whole() const;
  [[nodiscard]] bool whole() const {
    return unread.empty() && unread_curves.empty() && campaign.failed.empty() &&
           about.left_out.empty() && agreement_is_whole() && groups_are_whole() &&
           !(about.responses && !about.responses->failed.empty());
  }
};

/// Runs the study in `bytes`, which stood at `file`. A log or curve that fails stops no other.
/// Errors: as read_study; usage, for a study without a pathway; refused, for choices that would
/// give wrong numbers; those of the samples table, which every log needs; that of the first log,
/// where none could be read.
Result<std::unique_ptr<StudyRun>> run_study(std::string_view bytes, const std::string& file,
                                            const RunOptions& options = {});

}  // namespace leafwright
