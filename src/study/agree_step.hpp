// The comparison of two methods that a study asks for in [agree]: its fits, paired by leaf.
#pragma once

#include <memory>

#include "base/error.hpp"
#include "fit/pathway.hpp"
#include "report/agree_report.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Errors: usage, for settings of [agree] that are no margin or no list, or a study in which
/// nothing names two methods. It reads nothing, so that a study is refused before its logs are.
Result<void> check_agree_section(const Study& study);

/// Compares the fits of the run. Leaf, plant, order and, where [agree] names a column, method stand
/// in the samples table; else the method is the role of a log: "steps" or "ramp". Of the document
/// `not_compared` are leaves measured by both methods that are no pair; leaves of one method are
/// counted in a note. `method` fits curves again with rows let in that a mark or a rule of the
/// screening left out; rows of ramps that the correction leaves out stay out. Errors: usage, for a
/// column that is not there; refused, where no leaf has both methods.
Result<std::shared_ptr<const AgreeDocument>> study_agreement(const StudyRun& run,
                                                             const FitMethod& method);

}  // namespace leafwright
