// The part of a study's report with leaves fitted together.
#pragma once

#include <string>

#include "report/joint_report.hpp"

namespace leafwright {

/// HTML with the id "together".
std::string joint_section(const JointDocument& document);

}  // namespace leafwright
