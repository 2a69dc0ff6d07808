// The part of a study's report with means of groups.
#pragma once

#include <string>

#include "report/pool_report.hpp"

namespace leafwright {

/// HTML with the id "pool".
std::string pool_section(const PoolDocument& document);

}  // namespace leafwright
