// What `ramp` says of how points came about: as text and as JSON (also the meta file of its CSV).
#pragma once

#include <span>
#include <string>
#include <vector>

#include "log/flux_csv.hpp"
#include "ramp/correction.hpp"
#include "report/fit_document.hpp"
#include "report/json_writer.hpp"
#include "report/ramp_outcome.hpp"

namespace leafwright {

struct RampDocument {
  std::vector<RampOutcome> ramps;
  const GasPath* path = nullptr;  ///< null for `none` without one
  std::vector<const Settings*> settings;
  std::vector<InputFile> inputs;
  std::vector<FluxColumn> columns;
};

/// "correction forward, lag pairing on; lag 5.7 s, ...": one sentence.
std::string ramp_used_text(const CorrectionUsed& used);

/// "up", "down", "up and down", or "none": which way CO2r went in the ramps of the record.
std::string ramp_direction(const Ends& ends);

/// What was left out at the ends of each ramp of the record, a sentence each.
std::vector<std::string> ramp_ends_texts(const Ends& ends);

/// "ramps" [...], into an open object.
void write_ramps(JsonWriter& json, std::span<const RampOutcome> ramps);

/// "paths" [...] of a study, into an open object.
void write_paths(JsonWriter& json, std::span<const PathOutcome> paths);

std::string ramp_text(const RampDocument& document);
std::string ramp_json(const RampDocument& document);

}  // namespace leafwright
