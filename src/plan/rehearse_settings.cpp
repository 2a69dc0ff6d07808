#include "plan/rehearse_settings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {
namespace {

Result<std::vector<double>> numbers(const std::string& text, const char* name) {
  std::vector<double> out;
  std::size_t begin = 0;
  while (begin <= text.size() && !text.empty()) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    const auto number = parse_number(trim(std::string_view(text).substr(begin, end - begin)));
    if (!number) {
      return fail(ErrorCode::usage, fmt::format("'{}' for '{}'", shortened(text), name),
                  "numbers separated by commas, such as 400,200,100");
    }
    out.push_back(*number);
    begin = end + 1;
  }
  return out;
}

bool is_date(const std::string& text) {
  constexpr std::string_view form = "dddd-dd-dd";
  if (text.size() != form.size()) return false;
  for (std::size_t i = 0; i < form.size(); ++i) {
    const bool digit = text[i] >= '0' && text[i] <= '9';
    if (form[i] == 'd' ? !digit : text[i] != form[i]) return false;
  }
  return text.substr(5, 2) >= "01" && text.substr(5, 2) <= "12" && text.substr(8) >= "01" &&
         text.substr(8) <= "31";
}

SourceShape shape_of(const std::string& name) {
  for (const SourceShape s : {SourceShape::ramp, SourceShape::there_and_back, SourceShape::steps}) {
    if (name == source_shape_name(s)) return s;
  }
  return SourceShape::hold;
}

Result<void> take_source(const Settings& s, SourceSettings& out) {
  auto steps = numbers(s.text("steps"), "steps");
  if (!steps) return fail(steps.error());
  out.shape = shape_of(s.text("shape"));
  out.steps = std::move(*steps);
  if (!out.steps.empty() && out.shape != SourceShape::steps) {
    return fail(ErrorCode::usage, "steps, but the shape is " + s.text("shape"),
                "the shape steps, or no steps");
  }
  out.start = s.number("co2-start");
  out.end = s.number("co2-end");
  out.rate = s.number("rate");
  out.hold_before = s.number("hold-before");
  out.hold_after = s.number("hold-after");
  out.hold_turn = s.number("hold-turn");
  out.step_length = s.number("step-length");
  out.bow = s.number("bow");
  out.ripple = s.number("ripple");
  out.ripple_period = s.number("ripple-period");
  out.time_constant = s.number("source-time");
  return {};
}

void take_chamber(const Settings& s, SimulatorSettings& out) {
  out.air.flow = s.number("flow");
  out.air.flow_gain = s.number("flow-gain");
  out.air.Patm = s.number("patm");
  out.air.Tair = s.number("tair");
  out.air.Tleaf = s.number("tleaf");
  out.air.H2Or = s.number("h2o-reference");
  out.air.Qin = s.number("qin");
  out.air.leak = s.number("leak");
  out.air.water_leak = s.number("water-leak");
  out.air.CO2_ambient = s.number("co2-ambient");
  out.air.H2O_ambient = s.number("h2o-ambient");
  out.air.wall_CO2 = s.number("wall-co2");
  out.air.wall_H2O = s.number("wall-h2o");
  out.air.wall_time = s.number("wall-time");
  out.paths.chamber = s.number("chamber-volume");
  out.paths.inlet = s.number("inlet-volume");
  out.paths.sample_line = s.number("sample-line");
  out.paths.sample_cell = s.number("sample-cell");
  out.paths.reference_line = s.number("reference-line");
  out.paths.reference_mixed = s.number("reference-mixed");
  out.paths.reference_cell = s.number("reference-cell");
  out.paths.cell_flow = s.number("cell-flow");
}

Result<void> take_offset(const Settings& s, SimulatorSettings& out) {
  const auto offset = numbers(s.text("offset"), "offset");
  if (!offset) return fail(offset.error());
  if (offset->empty() || offset->size() > 3) {
    return fail(ErrorCode::usage, "'" + s.text("offset") + "' for 'offset'",
                "one to three numbers c0,c1,c2");
  }
  out.offset = {0, 0, 0};
  std::copy(offset->begin(), offset->end(), out.offset.begin());
  return {};
}

Basis basis_of(const Settings& s) {
  return s.text("basis") == "mole-fraction" ? Basis::mole_fraction : Basis::partial_pressure;
}

Result<void> take_kinetics(const Settings& s, SimulatorSettings& out) {
  const auto set = find_kinetics(s.text("kinetics"));
  if (!set) return fail(set.error());
  KineticOverrides overrides;
  for (const std::string& text : s.list("kinetic")) {
    if (auto ok = set_override(overrides, text); !ok) return ok;
  }
  const auto kinetics = kinetics_at(**set, out.air.Tleaf, out.air.Patm, basis_of(s), overrides);
  if (!kinetics) return fail(kinetics.error());
  out.leaf.kinetics = *kinetics;
  return {};
}

Result<void> take_c4_kinetics(const Settings& s, SimulatorSettings& out) {
  const auto set = find_c4_kinetics(s.text("c4-kinetics"));
  if (!set) return fail(set.error());
  C4Overrides overrides;
  for (const std::string& text : s.list("c4-kinetic")) {
    if (auto ok = set_c4_override(overrides, text); !ok) return ok;
  }
  const auto kinetics = c4_kinetics_at(**set, out.air.Tleaf, out.air.Patm, basis_of(s), overrides);
  if (!kinetics) return fail(kinetics.error());
  out.leaf.as_c4.kinetics = *kinetics;
  out.leaf.as_c4.kinetics.gbs = s.number("gbs") / 1000;
  return {};
}

void take_leaf(const Settings& s, SimulatorSettings& out) {
  out.empty = s.text("leaf") == "none";
  out.leaf.c4 = s.text("leaf") == "c4";
  const auto given = [&s](const char* name, double otherwise) {
    return s.is_set(name) ? s.number(name) : otherwise;
  };
  const double Vcmax = given("vcmax", out.leaf.c4 ? 34 : 68);
  out.leaf.c3 = {Vcmax, s.number("j"), s.number("tpu"), s.number("rday")};
  RehearsedC4& c4 = out.leaf.as_c4;
  c4.leaf.Vcmax = Vcmax;
  c4.leaf.Rday = s.number("rday");
  c4.leaf.Vpmax = s.number("vpmax");
  c4.leaf.Vpr = s.number("vpr");
  c4.leaf.J = std::numeric_limits<double>::infinity();
  c4.linear = s.text("c4-form") == "linear";
  c4.pressure = out.air.Patm;
  out.area = s.number("area");
  out.stomata.gsw = given("gsw", out.leaf.c4 ? 150 : 240);
  out.stomata.drift = s.number("gsw-drift");
  out.stomata.response = s.number("gsw-response");
  out.stomata.response_time = s.number("gsw-time");
  out.stomata.layer.gbw = s.number("gbw");
  out.stomata.layer.is = s.text("gbw-is") == "per side" ? GbwIs::per_side : GbwIs::whole_leaf;
  out.stomata.layer.stomatal_ratio = s.number("stomatal-ratio");
  out.lag_up = s.number("lag-up");
  out.lag_down = s.number("lag-down");
}

void take_record(const Settings& s, SimulatorSettings& out) {
  out.curve = s.text("id");
  out.seed = static_cast<std::uint64_t>(s.whole("seed"));
  out.replicate = static_cast<std::uint32_t>(s.whole("replicate"));
  out.date = s.text("date");
  out.start_time = s.text("start-time");
  out.steady_fluxes = s.text("steady-fluxes") == "on";
  out.interval = s.number("interval");
  out.noise.CO2 = s.number("noise-co2");
  out.noise.CO2_common = s.number("noise-common");
  out.noise.drift = s.number("drift");
  out.noise.drift_time = s.number("drift-time");
  out.noise.H2O = s.number("noise-h2o");
  out.noise.Tleaf = s.number("noise-tleaf");
  out.noise.flow = s.number("noise-flow");
  const std::string& name = s.text("stamp");
  const Stamp stamp = name == "start"    ? Stamp::start
                      : name == "middle" ? Stamp::middle
                                         : Stamp::end;
  out.CO2r = {s.number("averaging-co2r"), stamp};
  out.CO2s = {s.number("averaging-co2s"), stamp};
  out.H2Or = out.H2Os = {s.number("averaging-h2o"), stamp};
  out.step = s.number("integration-step");
}

}  // namespace

Result<void> RehearseSettings::set(const std::string& name, const std::string& value,
                                   SettingOrigin origin) {
  std::vector<std::string> known;
  for (Settings* table : {&source, &leaf, &chamber, &record}) {
    for (const Setting& setting : table->table()) {
      if (setting.name == name) return table->set(name, value, origin);
      known.push_back(setting.name);
    }
  }
  return fail(ErrorCode::usage, "unknown setting '" + shortened(name) + "'", "",
              suggest_name(name, known));
}

Result<SimulatorSettings> simulator_settings(const RehearseSettings& settings) {
  SimulatorSettings out;
  if (auto ok = take_source(settings.source, out.source); !ok) return fail(ok.error());
  take_chamber(settings.chamber, out);
  if (auto ok = take_offset(settings.chamber, out); !ok) return fail(ok.error());
  take_leaf(settings.leaf, out);
  const auto taken =
      out.leaf.c4 ? take_c4_kinetics(settings.leaf, out) : take_kinetics(settings.leaf, out);
  if (!taken) return fail(taken.error());
  take_record(settings.record, out);
  if (!out.date.empty() && !is_date(out.date)) {
    return fail(ErrorCode::usage, "'" + shortened(out.date) + "' for 'date'", "YYYY-MM-DD");
  }
  return out;
}

std::string rehearsed_instrument(const SimulatorSettings& s) {
  std::string out = "# An invented instrument, as rehearsed.\n";
  out += "serial = \"rehearsal\"\n";
  const auto quantity = [&out](const char* key, double value, const char* unit) {
    out += fmt::format("{} = \"{} {}\"\n", key, print_number(value), unit);
  };
  quantity("chamber_volume", s.paths.chamber, "cm3");
  quantity("inlet_volume", s.paths.inlet, "cm3");
  quantity("cell_flow", s.paths.cell_flow, "cm3 min-1");
  quantity("leak", s.air.leak, "umol s-1");
  quantity("gbw", s.stomata.layer.gbw, "mmol m-2 s-1");
  out += fmt::format("gbw_is = \"{}\"\n", gbw_is_name(s.stomata.layer.is));
  if (s.stomata.layer.is == GbwIs::per_side) {
    out += "stomatal_ratio = " + print_number(s.stomata.layer.stomatal_ratio) + "\n";
  }
  out += "\n[channels]\n";
  const auto channel = [&out](const char* symbol, const ChannelLogging& c) {
    out += fmt::format("{} = {{averaging = \"{} s\", stamp = \"{}\"}}\n", symbol,
                       print_number(c.averaging), stamp_name(c.stamp));
  };
  channel("CO2r", s.CO2r);
  channel("CO2s", s.CO2s);
  channel("H2Or", s.H2Or);
  channel("H2Os", s.H2Os);
  return out;
}

}  // namespace leafwright
