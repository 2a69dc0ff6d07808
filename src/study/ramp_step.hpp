// Ramps in a study: records of the empty chamber -> gas paths -> corrected points of each ramp.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "ramp/record.hpp"
#include "report/ramp_outcome.hpp"
#include "study/log_step.hpp"

namespace leafwright {

/// A log of role ramp or empty, cut into records. Gas paths point to the records: it stays where
/// it is.
struct RecordLog {
  OpenedLog opened;
  TimeAxis axis;
  Cut cut;
  std::vector<RampRecord> records;  ///< one for each entry of `ids`
  std::vector<std::string> ids;     ///< of the curves that became records
};

/// Opens the log and cuts it into records, as logs of steps are cut into curves. A curve that is no
/// record is among `failed` of the outcome's points. Every failure is in the outcome.
std::shared_ptr<RecordLog> read_record_log(const StudyLog& entry, const StudyContext& context,
                                           LogOutcome& outcome);

/// The gas paths of a study: the empty records of one instrument file and one date (as far as they
/// have dates) are identified together.
struct StudyPaths {
  std::vector<PathOutcome> outcomes;
  std::vector<std::vector<const RampRecord*>> empties;  ///< of each outcome
};
StudyPaths study_paths(std::span<const std::shared_ptr<RecordLog>> empties, const Study& study);

/// The path for a ramp: of the same instrument file; of several, the one nearest in date, the
/// earlier where two are equally near. Null: there is none.
const PathOutcome* path_for(const StudyPaths& paths, const std::string& instrument,
                            const RampRecord& ramp);

/// Corrects every ramp of the log: its points, and what became of each ramp.
void correct_ramps(const RecordLog& ramps, const StudyPaths& paths, const StudyContext& context,
                   LogOutcome& outcome, std::vector<RampOutcome>& made);

/// Errors: usage, for settings of [ramp] that a study states otherwise or that do not fit together.
Result<void> check_ramp_section(const Study& study);

}  // namespace leafwright
