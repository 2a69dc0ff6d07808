// What means of groups and leaves fitted together add to the methods text of a study.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "report/run_document.hpp"

namespace leafwright {

/// A paragraph for means of groups and one for leaves fitted together, each only where something
/// came of it. What they cite goes into `references`.
std::vector<std::string> group_methods(const RunDocument& run, std::set<std::string>& references);

}  // namespace leafwright
