#include "plan/simulated_record.hpp"

#include <numeric>

namespace leafwright {

Instrument simulated_instrument(const SimulatorSettings& s) {
  Instrument out;
  out.serial = "rehearsal";
  out.chamber_volume = s.paths.chamber;
  out.inlet_volume = s.paths.inlet;
  out.cell_flow = s.paths.cell_flow;
  out.leak = s.air.leak;
  out.gbw = s.stomata.layer.gbw;
  out.gbw_is = s.stomata.layer.is;
  out.stomatal_ratio = s.stomata.layer.stomatal_ratio;
  out.co2_per = Co2Per::moist_air;
  const auto timing = [&out](const char* symbol, const ChannelLogging& channel) {
    out.channels.push_back({symbol, channel.averaging, channel.stamp});
  };
  timing("CO2r", s.CO2r);
  timing("CO2s", s.CO2s);
  timing("H2Or", s.H2Or);
  timing("H2Os", s.H2Os);
  return out;
}

RampRecord simulated_record(const Simulation& simulation) {
  const SimulatorSettings& s = simulation.settings;
  RampRecord out;
  out.name = s.curve;
  out.role = s.empty ? RecordRole::empty : RecordRole::leaf;
  out.instrument = simulated_instrument(s);
  out.rows.resize(simulation.truth.time_s.size());
  std::iota(out.rows.begin(), out.rows.end(), std::size_t{0});
  out.time_s = column(simulation, "time_s");
  out.CO2r = column(simulation, "CO2r");
  out.CO2s = column(simulation, "CO2s");
  out.H2Or = column(simulation, "H2Or");
  out.H2Os = column(simulation, "H2Os");
  out.flow = column(simulation, "flow");
  out.Patm = column(simulation, "Patm");
  out.Tair = column(simulation, "Tair");
  out.Tleaf = column(simulation, "Tleaf");
  out.Qin = column(simulation, "Qin");
  if (s.empty) return out;
  out.gbw = column(simulation, "gbw");
  out.area = s.area;
  return out;
}

}  // namespace leafwright
