// Which rows of a ramp give points: both ends are left out by rule, and each row says why.
//
// Start. When CO2r begins to move, what is left of the old air decays with the chamber's time
// constant tau. With r the rate and k = u/s the error of A falls below epsilon at
//   T = d + tau ln(k r tau/epsilon)
// after the change showed in CO2r (d: dead time of the path). This is the rule for `none` and
// `equal-lag` (never less than 5 tau, 6 with a mixed volume in the line). A correction that knows
// the path leaves less: d + 4 tau for `subtract`, 3 for `balance`, 2 for `forward`, 0 for `joint`.
// End. The last L + 5 s before CO2r stops are left out: the source slows down before it stops.
// Steps. Rows count from d + tau ln(k D/epsilon) after each step of size D until CO2r moves again.
// The multiples are those of the study of methods-ramps.md.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "ramp/record_programme.hpp"

namespace leafwright {

struct EndRule {
  double delay_s = 0;         ///< d, not below 0
  double tau_s = 0;           ///< of the chamber
  double lag_s = 0;           ///< L
  double gain = 0;            ///< k = u/s, mol m-2 s-1
  double epsilon = 0.1;       ///< umol m-2 s-1
  double least_multiple = 5;  ///< of tau
  bool by_size = true;        ///< is T of the formula used where it is longer?
  double trim_s = 5;          ///< beyond L, before CO2r stops
  bool trim = true;           ///< joint keeps the end
};

/// One ramp, or one hold of a programme of steps, of a record.
struct RampEnds {
  Stretch stretch;
  double shown_s = 0;             ///< time at which the change shows in CO2r
  double discard_s = 0;           ///< left out from there
  std::optional<double> stops_s;  ///< time at which CO2r stops; empty: it moves to the last row
  double trim_s = 0;              ///< left out before that
  bool start_seen = true;         ///< false: the ramp was running when the record began
  std::size_t kept = 0;           ///< rows
};

struct Ends {
  std::vector<std::string> why;  ///< one a row; "" : the row is kept
  std::vector<RampEnds> ramps;
  [[nodiscard]] std::size_t kept() const;
};

/// T - d of the formula for a change of `size` (r tau for a ramp, the step itself for steps), s;
/// not below 0.
double settling_time(double gain, double size, double tau_s, double epsilon);

/// Applies the rule to every ramp of the record.
Ends ramp_ends(const RampRecord& record, const Programme& programme, const EndRule& rule);

}  // namespace leafwright
