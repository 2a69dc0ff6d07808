// What a report of fitted curves is made from: the curves, their fits, and how they were made.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "base/setting.hpp"
#include "fit/fit.hpp"
#include "log/curve.hpp"
#include "report/run_document.hpp"

namespace leafwright {

/// A file that was read, by its exact bytes.
struct InputFile {
  std::string path;
  std::size_t bytes = 0;
  std::string sha256;
};

/// A file that could not be read, and why.
struct UnreadFile {
  std::string path;
  std::string why;
};

/// A curve of which no row could be read.
struct UnreadCurveOf {
  std::string file;
  std::string curve_id;
  std::string why;
};

/// Everything that a report of `fit` shows. Pointers must outlive the document.
struct FitDocument {
  std::span<const Curve> curves;          ///< as handed to fit_curves; ids are unique
  const CampaignFit* campaign = nullptr;  ///< required
  std::vector<const Settings*> settings;  ///< every setting of the call, in the order to print
  std::vector<InputFile> inputs;
  std::vector<UnreadFile> unread;
  std::vector<UnreadCurveOf> unread_curves;
  std::vector<std::string> problems;  ///< faults of the files that stopped nothing, with places
  Notes notes;                        ///< about the reading of the files
  const RunDocument* run = nullptr;   ///< what a whole study adds; null for a table of points
};

/// One curve of the document in the order of the input: fitted, or failed with a reason. A curve
/// that a cancelled run did not reach has neither.
struct CurveOutcome {
  const Curve* curve = nullptr;
  const CurveFit* fit = nullptr;
  const FailedCurve* failed = nullptr;
};

/// The outcomes in the order of `document.curves`. Throws std::logic_error for a fit or a failure
/// of a curve that the document does not have, or two for one curve.
std::vector<CurveOutcome> outcomes(const FitDocument& document);

/// The file a curve was read from: that of its first row, "" if unknown.
const std::string& curve_file(const Curve& curve);

/// Why the fit does not use this row of its curve; "" if it does.
std::string why_unused(const CurveFit& fit, const CurveRow& row);

/// The setting `name` of whichever table has it, as text; "" where none has it or it is not set.
std::string setting_text(const FitDocument& document, const std::string& name);

}  // namespace leafwright
