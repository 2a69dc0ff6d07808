// The responses that a study asks for in [response]: of its fits (temperature) or of its points
// (light, stomata).
#pragma once

#include "base/error.hpp"
#include "study/run.hpp"

namespace leafwright {

/// Errors: usage, for settings of [response] that do not fit together. It reads nothing, so that a
/// study is refused before its logs are.
Result<void> check_response_section(const Study& study);

/// Empty where the study asks for none. Responses that could not be fitted stand in it, each with
/// its reason. Errors: those of the table as a whole, such as a column that the samples table
/// lacks.
Result<std::optional<ResponseRun>> study_responses(const StudyRun& run);

}  // namespace leafwright
