// A simulation as bytes: the record, its truth, the true series.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "plan/simulator.hpp"

namespace leafwright {
namespace {

/// Digits behind the point, as a logger would print; more than any noise needs.
int decimals(std::string_view symbol) {
  if (symbol == "Patm" || symbol == "area") return 3;
  return symbol == "Qin" || symbol == "gbw" ? 1 : 4;
}

/// CSV field: quoted where it must be (RFC 4180).
std::string field(const std::string& text) {
  if (text.find_first_of(",\"\r\n") == std::string::npos) return text;
  std::string out = "\"";
  for (const char c : text) out += c == '"' ? std::string("\"\"") : std::string(1, c);
  return out + "\"";
}

/// Pairs of key and number in one JSON object on one line.
class Object {
 public:
  Object& add(std::string_view key, double value) {
    const std::string text = print_number(value);
    return raw(key, text.empty() ? "null" : text);
  }
  Object& add(std::string_view key, const ChannelLogging& channel) {
    return raw(key, fmt::format(R"({{"averaging": {}, "stamp": "{}"}})",
                                print_number(channel.averaging), stamp_name(channel.stamp)));
  }
  Object& raw(std::string_view key, const std::string& json) {
    text_ += fmt::format("{}\"{}\": {}", text_.empty() ? "" : ", ", key, json);
    return *this;
  }
  Object& text(std::string_view key, std::string_view value) {
    std::string quoted = "\"";
    for (const char c : value) {
      if (c == '"' || c == '\\') quoted += '\\';
      quoted += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
    }
    return raw(key, quoted + "\"");
  }
  [[nodiscard]] std::string str() const { return "{" + text_ + "}"; }

 private:
  std::string text_;
};

std::string numbers(const std::vector<double>& values) {
  std::string out = "[";
  for (std::size_t i = 0; i < values.size(); ++i) {
    out += (i == 0 ? "" : ", ") + print_number(values[i]);
  }
  return out + "]";
}

std::string source_json(const SourceSettings& s) {
  Object o;
  o.text("shape", source_shape_name(s.shape));
  if (s.shape == SourceShape::steps) {
    o.raw("steps", numbers(s.steps)).add("step_length", s.step_length);
  } else {
    o.add("start", s.start).add("end", s.end).add("rate", s.rate);
    o.add("hold_before", s.hold_before).add("hold_after", s.hold_after);
    o.add("hold_turn", s.hold_turn).add("bow", s.bow);
  }
  o.add("ripple", s.ripple).add("ripple_period", s.ripple_period);
  return o.add("time_constant", s.time_constant).str();
}

std::string leaf_json(const SimulatorSettings& s) {
  Object o;
  if (s.empty) return "null";
  const RehearsedLeaf& leaf = s.leaf;
  o.text("pathway", leaf.c4 ? "c4" : "c3").add("area", s.area);
  if (leaf.c4) {
    const C4Leaf& c = leaf.as_c4.leaf;
    const C4Kinetics& k = leaf.as_c4.kinetics;
    o.text("form", leaf.as_c4.linear ? "linear" : "quadratic");
    o.add("Vcmax", c.Vcmax).add("Vpmax", c.Vpmax).add("Vpr", c.Vpr).add("Rday", c.Rday);
    o.add("Kp_ubar", k.Kp).add("gbs", k.gbs).add("Kc_ubar", k.Kc).add("Ko_mbar", k.Ko);
    o.add("O_mbar", k.O).add("gamma_star", k.gamma_star).add("alpha", k.alpha);
  } else {
    o.add("Vcmax", leaf.c3.Vcmax).add("J", leaf.c3.J).add("TPU", leaf.c3.TPU);
    o.add("Rday", leaf.c3.Rday).add("Kc", leaf.kinetics.Kc).add("Ko", leaf.kinetics.Ko);
    o.add("O", leaf.kinetics.O).add("Km", leaf.kinetics.Km);
    o.add("GammaStar", leaf.kinetics.gamma_star);
  }
  o.add("lag_up", s.lag_up).add("lag_down", s.lag_down);
  o.add("gsw", s.stomata.gsw).add("gsw_drift", s.stomata.drift);
  o.add("gsw_response", s.stomata.response).add("gsw_response_time", s.stomata.response_time);
  o.add("gbw", s.stomata.layer.gbw).text("gbw_is", gbw_is_name(s.stomata.layer.is));
  return o.add("stomatal_ratio", s.stomata.layer.stomatal_ratio).str();
}

std::string air_json(const SimulatedAir& a) {
  Object o;
  o.add("flow", a.flow).add("flow_gain", a.flow_gain).add("Patm", a.Patm).add("Tair", a.Tair);
  o.add("Tleaf", a.Tleaf).add("H2Or", a.H2Or).add("Qin", a.Qin).add("leak", a.leak);
  o.add("water_leak", a.water_leak).add("CO2_ambient", a.CO2_ambient);
  o.add("H2O_ambient", a.H2O_ambient).add("wall_CO2", a.wall_CO2).add("wall_H2O", a.wall_H2O);
  return o.add("wall_time", a.wall_time).str();
}

std::string paths_json(const SimulatedPaths& p) {
  Object o;
  o.add("chamber", p.chamber).add("inlet", p.inlet).add("sample_line", p.sample_line);
  o.add("sample_cell", p.sample_cell).add("reference_line", p.reference_line);
  o.add("reference_mixed", p.reference_mixed).add("reference_cell", p.reference_cell);
  return o.add("cell_flow", p.cell_flow).str();
}

std::string lags_json(const TrueLags& l) {
  Object o;
  o.add("chamber", l.chamber).add("inlet", l.inlet).add("sample_line", l.sample_line);
  o.add("sample_cell", l.sample_cell).add("reference_line", l.reference_line);
  o.add("reference_mixed", l.reference_mixed).add("reference_cell", l.reference_cell);
  o.add("sample", l.sample).add("reference", l.reference);
  return o.add("difference", l.difference).str();
}

std::string noise_json(const SimulatedNoise& n) {
  Object o;
  o.add("CO2", n.CO2).add("CO2_common", n.CO2_common).add("drift", n.drift);
  o.add("drift_time", n.drift_time).add("H2O", n.H2O).add("Tleaf", n.Tleaf);
  return o.add("flow", n.flow).str();
}

}  // namespace

std::string simulation_csv(const Simulation& simulation) {
  const SimulatorSettings& s = simulation.settings;
  std::string out = s.date.empty() ? "" : "date,";
  if (!s.start_time.empty()) out += "time,";
  for (const SimulatedColumn& c : simulation.columns) out += std::string(c.symbol) + ",";
  out += "curve_id\n";
  const std::string id = field(s.curve);
  for (std::size_t row = 0; row < simulation.truth.time_s.size(); ++row) {
    if (!s.date.empty()) out += field(s.date) + ",";
    if (!s.start_time.empty()) out += time_of_row(s, simulation.truth.time_s[row]) + ",";
    for (const SimulatedColumn& c : simulation.columns) {
      const double value = c.values[row];
      if (std::isfinite(value)) out += fmt::format("{:.{}f}", value, decimals(c.symbol));
      out += ',';
    }
    out += id + "\n";
  }
  return out;
}

std::string truth_json(const Simulation& simulation) {
  const SimulatorSettings& s = simulation.settings;
  Object logging;
  logging.add("interval", s.interval).add("CO2r", s.CO2r).add("CO2s", s.CO2s);
  logging.add("H2Or", s.H2Or).add("H2Os", s.H2Os);
  std::string out = "{\n  \"schema\": 1";
  const auto line = [&out](std::string_view key, const std::string& json) {
    out += fmt::format(",\n  \"{}\": {}", key, json);
  };
  Object name;
  name.text("id", s.curve);
  line("curve", name.str());
  line("seed", std::to_string(s.seed));
  line("replicate", std::to_string(s.replicate));
  line("empty", s.empty ? "true" : "false");
  line("source", source_json(s.source));
  line("volumes", paths_json(s.paths));
  line("air", air_json(s.air));
  line("leaf", leaf_json(s));
  line("offset", numbers({s.offset[0], s.offset[1], s.offset[2]}));
  line("noise", noise_json(s.noise));
  line("logging", logging.str());
  line("step", print_number(s.step));
  line("lags_s", lags_json(simulation.lags));
  line("chamber_mol", print_number(simulation.moles));
  return out + "\n}\n";
}

std::string truth_series_csv(const Simulation& simulation) {
  const TrueSeries& t = simulation.truth;
  const std::vector<double>* series[] = {&t.time_s, &t.source, &t.C, &t.W,
                                         &t.A,      &t.Ci,     &t.E, &t.gsw};
  std::string out = "time_s,source,C,W,A,Ci,E,gsw\n";
  for (std::size_t row = 0; row < t.time_s.size(); ++row) {
    bool first = true;
    for (const std::vector<double>* values : series) {
      if (!first) out += ',';
      first = false;
      if (!values->empty()) out += print_rounded((*values)[row], 9);
    }
    out += '\n';
  }
  return out;
}

}  // namespace leafwright
