// Pairs of ramps as text, JSON and CSV.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "report/fit_document.hpp"
#include "report/json_writer.hpp"
#include "report/pair_outcome.hpp"

namespace leafwright {

/// A row of the CSV that the ramp itself does not hold.
struct PairRowPlace {
  double time_s = 0, CO2r = 0, Tleaf = 0, Patm = 0;
  std::optional<double> Qin;
};

struct PairDocument {
  std::vector<PairOutcome> pairs;
  /// For every pair and ramp, its rows.
  std::vector<std::vector<std::vector<PairRowPlace>>> places;
  std::vector<const Settings*> settings;
  std::vector<InputFile> inputs;
};

/// "own lag 4.1 +- 0.3 s (95 %: 3.5 to 4.8), 4.1 s taken out of Ci": one sentence.
std::string pair_lag_text(const RampPair& pair);
/// "A on the way down +0.1 +- 0.3 %".
std::string pair_level_text(const RampPair& pair);

/// "pairs" [...], into an open object.
void write_pairs(JsonWriter& json, std::span<const PairOutcome> pairs);

std::string pair_text(const PairDocument& document);
std::string pair_json(const PairDocument& document);
/// Every row of both ways: pair, ramp, pass, time_s, CO2r, CO2s, A, A_sd, Ci (the lag taken out),
/// Ci_sd, Ci_with_lag, gsw, Tleaf, Patm, Qin, use, why.
std::string pair_csv(const PairDocument& document);

}  // namespace leafwright
