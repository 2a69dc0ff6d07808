// points.csv of a run: every row of every curve, used or not, in one table.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "log/samples.hpp"
#include "study/log_step.hpp"

namespace leafwright {

/// The points of one log, beside the ids that its curves have in the results.
struct NamedPoints {
  LogPoints* points = nullptr;
  std::vector<std::string> ids;  ///< one for each curve of `points`
  std::string log;
  std::string method;  ///< "steps" or "ramp" in a study with ramps, else ""
};

/// curve_id, file and line, the numbers in the reporting format's names and units (the union over
/// all logs, in their order), flags, use and why, the method where a log states one, then the
/// columns of the samples table.
std::string points_table(std::span<const NamedPoints> logs, const Samples* samples);

/// Names and units of its columns, in order; units are "" for text.
std::vector<std::pair<std::string, std::string>> points_table_columns(
    std::span<const NamedPoints> logs, const Samples* samples);

}  // namespace leafwright
