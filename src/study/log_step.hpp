// What becomes of one log of a study. One function for each role; the runner calls them, on any
// thread, and puts the results together in the order of the study file.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "log/curve.hpp"
#include "log/flux.hpp"
#include "log/instrument.hpp"
#include "log/log.hpp"
#include "log/samples.hpp"
#include "log/time.hpp"
#include "report/fit_document.hpp"
#include "report/run_document.hpp"
#include "study/study_file.hpp"

namespace leafwright {

/// A log as it was read, with what belongs to it.
struct OpenedLog {
  const StudyLog* entry = nullptr;
  InputFile bytes;
  Log log;
  std::optional<Instrument> instrument;
};

/// What all logs of a study share. Pointers outlive the work.
struct StudyContext {
  const Study* study = nullptr;
  const Samples* samples = nullptr;  ///< null where the study has none
  TimeChoice time;
};

/// The points of a log, curve by curve, with what `points.csv` says of them.
struct LogPoints {
  std::vector<Curve> curves;
  std::vector<UnreadCurveOf> failed;
  std::vector<std::string> columns;  ///< symbols, in order
  /// One list a curve: row by row the values of `columns`; not a number is missing.
  std::vector<std::vector<double>> values;
  std::vector<std::vector<std::string>> flags;  ///< by curve and row
};

/// Everything that one log gives.
struct LogOutcome {
  LogRecord record;
  std::vector<InputFile> inputs;  ///< the log, its map, its instrument
  std::optional<LogPoints> points;
  std::optional<Error> failed;  ///< the log as a whole
  std::vector<ScreenTally> rules;
};

/// Reads the log, its map and its instrument. Errors: of whichever cannot be read.
Result<OpenedLog> open_log(const StudyLog& entry, LogOutcome& outcome);

/// Adds the rows of `cut` as curves of points to the outcome; rows that lack what a fit needs are
/// left out with the reason. Errors: those of the column that --rday names.
Result<void> add_points(const OpenedLog& opened, const Cut& cut, FluxRows& rows,
                        const StudyContext& context, const std::vector<double>* seconds,
                        LogOutcome& outcome);

/// role = "steps": points taken while CO2 stands still.
Result<LogPoints> points_of_steps(const OpenedLog& opened, const StudyContext& context,
                                  LogOutcome& outcome);

/// Opens and processes one log of role steps; every failure is in the outcome.
LogOutcome process_steps_log(const StudyLog& entry, const StudyContext& context);

}  // namespace leafwright
