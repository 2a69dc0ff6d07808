// What became of an up and a down ramp of one leaf.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "ramp/correction.hpp"
#include "ramp/pair.hpp"
#include "ramp/ramp_intervals.hpp"

namespace leafwright {

struct PairOutcome {
  std::string name;                ///< "ID + ID": also the id of its curve
  std::vector<std::string> ramps;  ///< names, as stated
  std::vector<std::shared_ptr<const CorrectedRamp>> corrected;  ///< of each
  std::shared_ptr<const RampPair> pair;                         ///< null: failed
  std::string failed;
  std::vector<RecordRow> rows;  ///< of each row of its curve
};

}  // namespace leafwright
