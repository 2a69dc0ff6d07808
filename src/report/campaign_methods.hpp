// What a study adds to the methods text of its fits: how ramps became points, and how methods were
// compared.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "report/run_document.hpp"

namespace leafwright {

/// Paragraphs about the gas path, the correction of ramps and what was left out of them; none in a
/// study without ramps.
std::vector<std::string> ramp_methods(const RunDocument& run);

/// The paragraph about agreement; none where methods were not compared. What it cites goes into
/// `references`.
std::vector<std::string> agree_methods(const RunDocument& run, std::set<std::string>& references);

}  // namespace leafwright
