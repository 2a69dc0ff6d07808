// Leaves fitted together, as text, CSV and JSON.
#pragma once

#include <string>
#include <vector>

#include "base/setting.hpp"
#include "fit/joint_leaves.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

struct JointDocument {
  const JointRun* run = nullptr;          ///< required
  std::vector<const Settings*> settings;  ///< in the order to print
  std::vector<InputFile> inputs;
  std::string temperature;  ///< "at 25 degC by bernacchi-2001", "at leaf temperature"
  double level = 0.95;
};

/// "worst R-hat of a leaf 1.01, at least 812 independent draws; ..."
std::string joint_sampling(const JointGroup& group);
/// How much leaves were drawn towards each other, by parameter; "" where that cannot be said.
std::string joint_kept(const JointGroupRun& run);

std::string joint_text(const JointDocument& document);
/// One row a leaf and parameter, then the middle and spread of each group. `shrunken` is 1 for
/// values of single leaves.
std::string joint_csv(const JointDocument& document);
std::string joint_json(const JointDocument& document);
/// What stands beside the CSV.
std::string joint_meta_json(const JointDocument& document);

}  // namespace leafwright
