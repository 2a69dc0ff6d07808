// What `ramp` says of how points came about: as text and as JSON (also the meta file of its CSV).
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "log/flux_csv.hpp"
#include "ramp/correction.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

/// One ramp: corrected, or failed with a reason.
struct RampOutcome {
  std::string name;
  std::shared_ptr<const CorrectedRamp> ramp;
  std::string failed;
};

struct RampDocument {
  std::vector<RampOutcome> ramps;
  const GasPath* path = nullptr;  ///< null for `none` without one
  std::vector<const Settings*> settings;
  std::vector<InputFile> inputs;
  std::vector<FluxColumn> columns;
};

std::string ramp_text(const RampDocument& document);
std::string ramp_json(const RampDocument& document);

}  // namespace leafwright
