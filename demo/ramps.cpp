#include "ramps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>
#include <vector>

#include "plan/simulator.hpp"

namespace leafwright::demo {
namespace {

constexpr const char* date = "2025-06-20";

/// One ramp of the day, in the order measured.
struct RampPlan {
  const char* leaf_id;
  const char* mark;       ///< what the operator wrote behind the leaf's name
  const char* programme;  ///< of the samples table
  const char* start;      ///< HH:MM:SS
  double Tleaf;           ///< degC
  bool up;
};
const std::array<RampPlan, 5> plans = {{
    {"vo-a3-2", "ramp", "ramp", "09:12:05", 25.1, true},
    {"lt-a2-1", "ramp", "ramp", "09:41:30", 25.8, true},
    {"lt-a2-1", "down", "ramp down", "09:58:10", 26.0, false},
    {"vo-e1-1", "ramp", "ramp", "10:25:45", 26.7, true},
    {"lt-e3-1", "ramp", "ramp", "10:55:20", 27.4, true},
}};

const LeafPlan& leaf_of(const Campaign& campaign, const std::string& leaf_id) {
  for (const LeafPlan& leaf : campaign.leaves) {
    if (leaf.leaf_id == leaf_id) return leaf;
  }
  throw std::logic_error("demo: no leaf " + leaf_id);
}

/// The chamber and its tubes; recorder.toml says of it what its owner knows.
SimulatorSettings recorder(std::uint64_t seed) {
  SimulatorSettings s;
  s.seed = seed;
  s.date = date;
  s.paths.chamber = 58;
  s.paths.inlet = 8;
  s.paths.cell_flow = 240;
  s.air.flow = 500;
  s.air.Patm = 98.4;
  s.air.H2Or = 14.1;
  s.air.Qin = 1500;
  s.noise.CO2 = 0.08;
  s.source.hold_before = s.source.hold_after = s.source.hold_turn = 30;
  return s;
}

SimulatorSettings ramp_settings(const Campaign& campaign, const RampPlan& plan,
                                std::uint64_t seed) {
  const LeafPlan& leaf = leaf_of(campaign, plan.leaf_id);
  SimulatorSettings s = recorder(seed);
  s.curve = std::string(plan.leaf_id) + "_" + plan.mark;
  s.start_time = plan.start;
  s.source.start = plan.up ? 50 : 1250;
  s.source.end = plan.up ? 1250 : 50;
  s.source.rate = 220;
  s.air.Tleaf = plan.Tleaf;
  s.air.Tair = plan.Tleaf + 0.4;
  s.area = leaf.area;
  const auto set = find_kinetics("bernacchi-2001");
  if (!set) throw std::logic_error("demo: " + set.error().text());
  const auto kinetics = kinetics_at(**set, plan.Tleaf, s.air.Patm, Basis::partial_pressure);
  if (!kinetics) throw std::logic_error("demo: " + kinetics.error().text());
  s.leaf.c3 = capacities_at(leaf.at25, plan.Tleaf);
  s.leaf.kinetics = *kinetics;
  s.stomata.gsw = leaf.gsw;
  s.stomata.response = 0.3;
  s.stomata.response_time = 900;
  s.stomata.layer = {2900, GbwIs::per_side, leaf.stomatal_ratio, TwoSides::exact};
  return s;
}

Simulation run(const SimulatorSettings& settings) {
  auto made = simulate(settings);
  if (!made) throw std::logic_error("demo: " + made.error().text());
  return std::move(*made);
}

std::string cell(double value, int digits) {
  std::string text = fmt::format("{:.{}f}", value, digits);
  std::replace(text.begin(), text.end(), '.', ',');
  return text;
}

std::string head(const char* what) {
  return fmt::format(
      "Terrace recorder, second mode ({}), invented for Leafwright's demo\n"
      "\n"
      "calendar;clock;leaf mark;carbon in;carbon out;water in;water out;stream;patch;barometer;"
      "air warmth;leaf warmth;lamp;film;side ratio\n"
      "-;-;-;umol/mol;umol/mol;mol/mol;mol/mol;mmol/s;mm2;hPa;degC;degC;umol/m2/s;mol/m2/s;-\n",
      what);
}

/// The rows of one record as the recorder writes them.
std::string lines(const Simulation& made, double stomatal_ratio) {
  const SimulatorSettings& s = made.settings;
  const auto of = [&made](const char* symbol, std::size_t i) { return column(made, symbol)[i]; };
  std::string out;
  const std::vector<double>& times = column(made, "time_s");
  for (std::size_t i = 0; i < times.size(); ++i) {
    out += fmt::format("{};{};{}", date, time_of_row(s, times[i]), s.curve);
    out += ";" + cell(of("CO2r", i), 3) + ";" + cell(of("CO2s", i), 3) + ";" +
           cell(of("H2Or", i) / 1e3, 7) + ";" + cell(of("H2Os", i) / 1e3, 7) + ";" +
           cell(of("flow", i) / 1e3, 5) + ";" + (s.empty ? "" : cell(s.area * 100, 0));
    out += ";" + cell(of("Patm", i) * 10, 2) + ";" + cell(of("Tair", i), 3) + ";" +
           cell(of("Tleaf", i), 3) + ";" + cell(of("Qin", i), 1);
    out += s.empty ? ";;\n" : ";" + cell(2.9, 3) + ";" + cell(stomatal_ratio, 1) + "\n";
  }
  return out;
}

std::string truth_line(const LeafPlan& leaf, const RampPlan& plan, const Simulation& made) {
  const C3Leaf at = capacities_at(leaf.at25, plan.Tleaf);
  return fmt::format(
             "{},{},{},{},{},{:.3f},{:.3f},{:.4f},{:.4f},{:.3f},{:.3f},{:.3f},{:.4f},{:.4f}",
             leaf.leaf_id, leaf.plant_id, made.settings.curve, leaf.species, leaf.treatment,
             leaf.at25.Vcmax, leaf.at25.J, leaf.at25.TPU, leaf.at25.Rday, plan.Tleaf, at.Vcmax,
             at.J, at.TPU, at.Rday) +
         fmt::format(",{},,,,,0,{},{:.4f}\n", column(made, "time_s").size(),
                     plan.up ? "ramp up" : "ramp down", made.lags.difference);
}

}  // namespace

RampDay make_ramp_day(const Campaign& campaign, std::uint64_t seed) {
  RampDay out;
  SimulatorSettings bare = recorder(seed);
  bare.curve = "empty";
  bare.empty = true;
  bare.start_time = "08:40:10";
  bare.source.shape = SourceShape::there_and_back;
  bare.source.start = 50;
  bare.source.end = 1250;
  bare.source.rate = 300;
  bare.air.Tair = 24.6;
  bare.air.Tleaf = 24.4;
  const Simulation empty = run(bare);
  out.empty = head("the chamber is empty") + lines(empty, 0);
  out.truth = fmt::format(",,empty,,,,,,,,,,,,{},,,,,0,empty chamber,{:.4f}\n",
                          column(empty, "time_s").size(), empty.lags.difference);
  out.ramps = head("ramps");
  for (const RampPlan& plan : plans) {
    const LeafPlan& leaf = leaf_of(campaign, plan.leaf_id);
    const Simulation made = run(ramp_settings(campaign, plan, seed));
    out.ramps += lines(made, leaf.stomatal_ratio);
    out.samples += fmt::format("{},{},{},{},{},{},{:.2f},outline on paper\n", made.settings.curve,
                               leaf.leaf_id, leaf.plant_id, leaf.species, leaf.treatment,
                               plan.programme, leaf.area);
    out.truth += truth_line(leaf, plan, made);
  }
  return out;
}

}  // namespace leafwright::demo
