// The ramp that tests of a ramp's errors draw again and again.
#pragma once

#include "plan/simulated_record.hpp"

namespace leafwright::plain {

/// A leaf at 25 degC on a ramp of 200 umol mol-1 min-1, in the simulator's invented instrument.
inline SimulatorSettings ramp_settings(bool empty) {
  SimulatorSettings s;
  s.empty = empty;
  s.air.Tleaf = 25;
  s.leaf.c3 = {64, 118, 20, 1.1};
  s.leaf.kinetics =
      *kinetics_at(**find_kinetics("bernacchi-2001"), 25, s.air.Patm, Basis::partial_pressure);
  s.source.start = 50;
  s.source.end = 1000;
  s.source.rate = 200;
  s.source.hold_before = s.source.hold_after = 40;
  s.step = 0.1;
  return s;
}

}  // namespace leafwright::plain
