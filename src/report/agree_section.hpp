// The part of the report that says whether two methods agree on the same leaves.
#pragma once

#include <string>

#include "base/error.hpp"
#include "report/agree_report.hpp"

namespace leafwright {

/// HTML with the id "agreement": verdicts, tables, figures, and what was not compared. Errors:
/// those of the figures.
Result<std::string> agree_section(const AgreeDocument& document);

}  // namespace leafwright
