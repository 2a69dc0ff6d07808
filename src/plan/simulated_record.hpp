// A simulation as the record that paths are identified from and corrections read, without the
// detour by a file (which rounds to four decimals).
#pragma once

#include "plan/simulator.hpp"
#include "ramp/record.hpp"

namespace leafwright {

/// The instrument as its owner would describe it: volumes, flows, leak, boundary layer, timing of
/// the channels. Not what only the simulation knows (lines, cells, offsets).
Instrument simulated_instrument(const SimulatorSettings& settings);

/// The record; its role follows from SimulatorSettings::empty.
RampRecord simulated_record(const Simulation& simulation);

}  // namespace leafwright
