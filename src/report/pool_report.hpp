// Means of groups, as text, CSV and JSON.
#pragma once

#include <string>
#include <vector>

#include "base/setting.hpp"
#include "report/fit_document.hpp"
#include "stats/pool_run.hpp"

namespace leafwright {

struct PoolDocument {
  const PoolRun* run = nullptr;           ///< required
  std::vector<const Settings*> settings;  ///< in the order to print
  std::vector<InputFile> inputs;
  double level = 0.95;
};

std::string pool_text(const PoolDocument& document);
/// One row a mean, a leaf as fitted, and a unit drawn towards the mean (`shrunken` = 1).
std::string pool_csv(const PoolDocument& document);
std::string pool_json(const PoolDocument& document);
/// What stands beside the CSV.
std::string pool_meta_json(const PoolDocument& document);

}  // namespace leafwright
