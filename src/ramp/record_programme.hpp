// What the reference CO2 was made to do during a record: holds, ramps, their rates and turns; and
// whether the chamber flow stayed the same.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "ramp/record.hpp"

namespace leafwright {

/// A stretch of rows [first, last] of a record in which CO2r stands still, rises or falls.
struct Stretch {
  enum class Kind { hold, up, down };
  Kind kind = Kind::hold;
  std::size_t first = 0, last = 0;
  double seconds = 0;
  double rate = 0;  ///< of a straight line through its rows, umol mol-1 s-1; 0 in a hold
};

struct Programme {
  std::vector<Stretch> stretches;
  /// Signed; empty where the ramp turns round, has several rates or goes in steps.
  std::optional<double> rate;
  double steepest = 0;               ///< largest |slope| of CO2r over the window, umol mol-1 s-1
  bool turns = false;                ///< both up and down ramps of 20 s or more
  bool steps = false;                ///< CO2r moves in jumps shorter than 20 s
  double CO2_low = 0, CO2_high = 0;  ///< 1st and 99th hundredth of CO2r
  /// Slope of CO2r over the window at each row, umol mol-1 s-1.
  std::vector<double> slope;
  [[nodiscard]] double hold_at_start() const;  ///< s
  [[nodiscard]] double hold_at_end() const;    ///< s
};

/// Slopes are of straight lines through `window_s` of rows. A row belongs to a hold where its slope
/// is below a tenth of the steepest or could be noise of CO2r.
Programme programme_of(const RampRecord& record, double window_s = 10);

/// The chamber flow steps by more than `most` (a fraction) within the record: where, and from what
/// to what. Empty where it does not, or no flow is logged.
struct FlowStep {
  std::size_t at = 0;  ///< row of the record
  double before = 0, after = 0;
};
std::optional<FlowStep> flow_step(const RampRecord& record, double most);

/// Noise of one row of a series from its second differences, blind to slow change: 1.4826 times
/// their median size over sqrt(6). 0 where there are fewer than 10.
double noise_of(const std::vector<double>& series);

/// CO2r before the record began: its mean over the first 5 s of the hold at the start (half the
/// hold where that is shorter). Empty where the record does not begin with a hold.
std::optional<double> reference_before(const RampRecord& record, const Programme& programme);

}  // namespace leafwright
