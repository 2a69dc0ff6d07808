// The means of groups that a study asks for in [pool]: of its own fits.
#pragma once

#include <memory>

#include "base/error.hpp"
#include "report/pool_report.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Errors: usage, for settings of [pool] that do not fit together. It reads nothing, so that a
/// study is refused before its logs are.
Result<void> check_pool_section(const Study& study);

/// Pools the fits of the run, of steps unless `role` says otherwise. Groups that could not be
/// pooled stand in the result, each with its reason. Errors: as pool_fits; refused, where no curve
/// has the role.
Result<std::shared_ptr<const PoolDocument>> study_pool(const StudyRun& run);

}  // namespace leafwright
