// The air that a CO2 source sends out over time, in closed form: quadratic segments (holds, ramps,
// bowed ramps, steps) behind one first-order time constant, and a ripple on top.
//
//   input   p(x) = a + b x + c x^2,  x = t - start of the segment
//   output  q(x) + [y(0) - q(0)] exp(-x/tau),  q(x) = a + b(x - tau) + c(x^2 - 2 tau x + 2 tau^2)
//   ripple  m/sqrt(1 + (w tau)^2) sin(w t - atan(w tau)),  w = 2 pi/period (it has always been on)
//
// Derived: q is the particular solution of tau y' + y = p. No step of time enters, so what follows
// from it has no error of its own. CO2 umol mol-1 (moist air), times s.
#pragma once

#include <vector>

#include "base/error.hpp"

namespace leafwright {

/// From `start` to the start of the next segment (the last one goes on for ever).
struct SourceSegment {
  double start = 0;  ///< s
  double value = 0;  ///< a, umol mol-1
  double slope = 0;  ///< b, umol mol-1 s-1
  double curve = 0;  ///< c, umol mol-1 s-2
};

/// What the operator asked of the source. Before the first segment the source has always sent
/// that segment's first value.
struct SourceProgramme {
  std::vector<SourceSegment> segments;  ///< in order of time; a jump of value is a step
  double length = 0;                    ///< s from time 0
  double time_constant = 0;             ///< tau, s; 0: the source follows at once
  double ripple = 0;                    ///< m, umol mol-1
  double ripple_period = 10;            ///< s
};

enum class SourceShape { hold, ramp, there_and_back, steps };
const char* source_shape_name(SourceShape shape);  ///< "hold", "ramp", "there-and-back", "steps"

/// A programme in the words of an operator. Rates are always positive; the direction follows from
/// start and end.
struct SourceSettings {
  SourceShape shape = SourceShape::ramp;
  double start = 60, end = 1100;  ///< umol mol-1
  double rate = 160;              ///< umol mol-1 min-1
  double hold_before = 45;        ///< s
  double hold_after = 45;         ///< s
  double hold_turn = 45;          ///< s between the two ramps of there-and-back
  std::vector<double> steps;      ///< umol mol-1
  double step_length = 120;       ///< s
  double bow = 0;                 ///< how far the middle of a ramp stands above its chord
  double ripple = 0, ripple_period = 10;
  double time_constant = 0.8;  ///< s
};

/// Error: usage, for a rate, length or period that is not positive, CO2 below 0, or no steps.
Result<SourceProgramme> source_programme(const SourceSettings& settings);

class Source {
 public:
  /// Throws std::logic_error for a programme without segments or not in order of time.
  explicit Source(SourceProgramme programme);
  /// What leaves the source at `t` (any sign), umol mol-1.
  [[nodiscard]] double at(double t) const;
  [[nodiscard]] double length() const { return programme_.length; }

 private:
  SourceProgramme programme_;
  std::vector<double> begins_;  ///< y at the start of each segment
};

}  // namespace leafwright
