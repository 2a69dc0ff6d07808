// The settings of a comparison of two methods, and its rules from them.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "stats/agreement.hpp"

namespace leafwright {

SettingTable agreement_settings();

/// Rules from settings; level and seed come with the settings of the fit. Errors: usage, naming the
/// setting: a margin without its per cent sign, an empty name in a list.
Result<AgreementRules> agreement_rules(const Settings& settings);

/// "a,b" -> two names. Errors: usage, for another number of names or an empty or repeated one.
Result<std::array<std::string, 2>> method_names(const Settings& settings);

/// LEAF=REASON of every --exclude. Errors: usage, for one without a leaf or a reason.
Result<std::vector<std::pair<std::string, std::string>>> excluded_leaves(const Settings& settings);

}  // namespace leafwright
