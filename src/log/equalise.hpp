// Equalisation of the two cells: both are given the same air, and what they then differ by is taken
// off (by the instrument, or still to be done). When, how much and whether it is in the log already
// are data; a second correction of the same thing is refused.
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"
#include "log/log.hpp"
#include "log/time.hpp"

namespace leafwright {

struct Equalisation {
  double time_s = 0;           ///< of its end, on the log's axis
  std::optional<double> dCO2;  ///< sample minus reference on the same air, umol mol-1
  std::optional<double> dH2O;  ///< the same, mmol mol-1
  std::string source;          ///< "column 'x', log.csv:12", "option or study"
};

struct EqualiseChoice {
  std::string column = {};               ///< marks in the log; "" : none
  std::vector<std::string> events = {};  ///< TIME, TIME=dCO2 or TIME=dCO2,dH2O
  std::optional<bool> applied = {};  ///< is it in the log's numbers already? needed with an amount
};

struct Equalisations {
  std::vector<Equalisation> events;  ///< by time
  std::optional<bool> applied;
  std::vector<char> in_progress;  ///< one per row; empty without marks
  Notes notes;

  /// Seconds since the last one before `time_s`; empty before the first.
  [[nodiscard]] std::optional<double> age(double time_s) const;
  /// The last one at or before `time_s`, or null.
  [[nodiscard]] const Equalisation* last(double time_s) const;
};

/// Marks in a column: 1, true or any text while it goes on, 0, false or empty otherwise; a number
/// that is neither 0 nor 1 (a counter, an amount) marks one wherever it changes. Errors: usage, for
/// a column that is not there, a log without time, an event that cannot be read, or an amount
/// without saying whether it is applied.
Result<Equalisations> find_equalisations(const Log& log, const TimeAxis& axis,
                                         const EqualiseChoice& choice, const TimeChoice& time = {});

/// The settings `equalise-column`, `equalised`, `equalised-applied`.
SettingTable equalise_settings();
EqualiseChoice equalise_choice(const Settings& settings);

}  // namespace leafwright
