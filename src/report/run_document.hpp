// What a report of a whole study shows besides the fits: the logs and how they were read, what was
// proved of their columns, where values came from, and every row that was left out.
#pragma once

#include <cstddef>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "fit/response_table.hpp"
#include "log/physics.hpp"
#include "report/pair_outcome.hpp"
#include "report/ramp_outcome.hpp"

namespace leafwright {

/// Where a value came from, and what else was on offer.
struct SourceLine {
  std::string quantity, from, value;
  std::vector<std::string> others;
  bool disagree = false;
  std::vector<std::string> curves;
};

struct LogRecord {
  std::string file;  ///< as the study names it
  std::string role;  ///< "steps", "ramp", "empty"
  std::string map, instrument;
  std::size_t bytes = 0;
  std::string sha256;
  std::size_t rows = 0, curves = 0;
  std::string cut;  ///< how curves were cut: "column", "gap", ...
  std::string did;  ///< what its rows became: "fluxes from mole fractions", ...
  Proof proof;      ///< A, E, gsw, Ci recomputed from the columns, against those recorded
  std::vector<SourceLine> sources;
  Notes notes;
  std::vector<std::string> problems;  ///< faults that stopped nothing, with places
  std::string failed;                 ///< why nothing came of it; "" if something did
};

/// A row, or a stretch of a ramp, that does not enter a fit, or does but is marked.
struct ScreenedRow {
  std::string curve_id;
  std::string place;  ///< "logs/day1.csv:17"
  bool used = false;
  std::string why;  ///< of an unused row
  std::string flags;
  std::size_t rows = 1;  ///< that follow each other from there with the same reason
};

/// A rule of the screening and what it did.
struct ScreenTally {
  std::string rule;
  bool excludes = false;
  std::size_t rows = 0;
  std::string meaning, source;
};

struct AgreeDocument;
struct PoolDocument;
struct JointDocument;

struct RunDocument {
  std::string study;  ///< the study file
  std::string title, time_zone;
  std::vector<LogRecord> logs;
  std::vector<ScreenedRow> screened;  ///< in the order of the logs
  std::vector<ScreenTally> rules;
  /// What the samples table says of the curves besides numbers: names of columns, values by curve.
  std::vector<std::string> sample_columns;
  std::map<std::string, std::map<std::string, std::string>> samples;
  std::vector<std::string> left_out;     ///< what the study asks for and could not be done
  std::vector<PathOutcome> paths;        ///< from the empty records, in order of first appearance
  std::vector<RampOutcome> ramps;        ///< in the order of the logs; named as the curves are
  std::vector<PairOutcome> pairs;        ///< as the study states them
  std::optional<ResponseRun> responses;  ///< where the study asks for them
  const Settings* response_settings = nullptr;     ///< how they were fitted; null where none was
  std::shared_ptr<const AgreeDocument> agreement;  ///< of two methods, where the study asks for it
  const Settings* agree_settings = nullptr;  ///< how methods were compared; null where none were
  std::shared_ptr<const PoolDocument> pool;  ///< means of groups, where the study asks for them
  std::shared_ptr<const JointDocument> together;  ///< leaves fitted together, where asked for
  std::vector<const Settings*> group_settings;    ///< of these two, where they were made
};

}  // namespace leafwright
