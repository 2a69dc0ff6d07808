// The leaves that a study asks for in [together] to be fitted together.
#pragma once

#include <memory>

#include "base/error.hpp"
#include "base/progress.hpp"
#include "report/joint_report.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Errors: usage, for a study of C4 leaves, or a group without a samples table. It reads nothing,
/// so that a study is refused before its logs are.
Result<void> check_together_section(const Study& study);

/// Fits the curves of the run group by group with the settings of [fit], those of steps unless
/// `role` says otherwise; the group is a column of the samples table. Curves and groups that could
/// not be fitted stand in the result, each with its reason. Errors: as fit_jointly; usage, for a
/// column that is not there; refused, where no curve has the role.
Result<std::shared_ptr<const JointDocument>> study_together(const StudyRun& run,
                                                            const Progress& progress = {},
                                                            const Cancel* cancel = nullptr);

}  // namespace leafwright
