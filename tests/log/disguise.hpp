// Logs of known content with titles that say nothing, for the tests of the map proposal: columns
// shuffled, units changed, digits cut, columns of noise and near relatives of the right ones added.
// The numbers come from equations written here, not from the program.
#pragma once

#include <cmath>
#include <cstdio>
#include <map>
#include <string>
#include <vector>

#include "base/random.hpp"

namespace leafwright::disguise {

using Numbers = std::vector<double>;

/// A quantity in the base units: mol, m2, s, Pa, degC; fractions as mol mol-1.
using Quantities = std::map<std::string, Numbers>;

struct Written {
  std::string unit;
  double scale = 1, offset = 0;  ///< written = base * scale + offset
};

/// One column of the disguised log.
struct Column {
  std::string symbol;  ///< "" for a distractor; "CO2r_dry" and the like where it counts dry air
  std::string unit;
  std::string title;
  Numbers values;  ///< as written
};

struct Disguised {
  std::string text;
  std::map<std::string, Column> truth;  ///< by symbol
  std::string about;
  bool recorded_E = true, recorded_A = true, area_right = true;
};

inline double saturation(double t) {  // Pa; Buck (1981) with 1.004
  return 613.65 * std::exp(17.502 * t / (240.97 + t));
}

/// Steady rows of some leaves: what an instrument would log, fluxes from its own numbers.
inline Quantities instrument(RandomStream& draw, std::size_t leaves, std::size_t steps) {
  Quantities q;
  const double pressure = draw.uniform(70e3, 102e3), gbw = draw.uniform(1.2, 4);
  const double set_flow = draw.uniform(250e-6, 900e-6), amplitude = draw.uniform(0.7, 1.3);
  const bool areas_differ = draw.uniform() < 0.5;
  const double common_area = draw.uniform(2e-4, 10e-4);
  const double ratio = draw.uniform() < 0.5 ? 1 : std::round(10 * draw.uniform(0, 1)) / 10;
  const double kf = (ratio * ratio + 1) / ((ratio + 1) * (ratio + 1));
  double clock = 0;
  for (std::size_t leaf = 0; leaf < leaves; ++leaf) {
    const double area = areas_differ ? std::round(draw.uniform(2, 10) * 100) / 1e6 : common_area;
    const double gsw0 = draw.uniform(0.06, 0.5), top = draw.uniform(12, 40) * 1e-6 * amplitude;
    const double warm = draw.uniform(18, 33), light = draw.uniform() < 0.7 ? 1500 : 1800;
    for (std::size_t step = 0; step < steps; ++step) {
      const double set = std::vector<double>{400, 300, 200, 100,  50,   400,
                                             500, 650, 800, 1000, 1200, 1500}[step % 12] *
                         1e-6;
      const double gsw =
          gsw0 * (1 + 0.05 * std::sin(0.7 * static_cast<double>(step)) + 0.02 * draw.normal());
      const double tl = warm + 0.3 * draw.normal(), ta = tl + 0.6 + 0.3 * draw.normal();
      const double P = pressure * (1 + 1e-4 * draw.normal());
      const double wr = 0.010 + 0.003 * std::sin(static_cast<double>(leaf)) + 1e-4 * draw.normal();
      const double flow = set_flow * (1 + 7e-4 * draw.normal());
      const double gb = gbw / kf;  // of the leaf as a whole
      const double gtw = 1 / (1 / gsw + 1 / gb);
      const double wi = saturation(tl) / P;
      double ws = wr;
      for (int i = 0; i < 200; ++i) {
        const double E = gtw * (wi - ws) / (1 - (wi + ws) / 2);
        ws = 0.5 * ws + 0.5 * (wr + E * area / flow * (1 - ws));
      }
      const double E = flow * (ws - wr) / (area * (1 - ws));
      const double gtc = 1 / (1.6 / gsw + 1.37 / gb);
      const double cr = set * (1 + 2e-3 * draw.normal());
      double cs = cr, A = 0, ci = cr;
      for (int i = 0; i < 300; ++i) {
        A = top * (ci - 50e-6) / (ci + 250e-6);
        const double next = (cr - A * area / flow) * (1 - ws) / (1 - wr);
        cs = 0.5 * cs + 0.5 * next;
        ci = ((gtc - E / 2) * cs - A) / (gtc + E / 2);
      }
      A = flow / area * (cr - cs * (1 - wr) / (1 - ws));
      ci = ((gtc - E / 2) * cs - A) / (gtc + E / 2);
      clock += 90 + std::round(60 * draw.uniform());
      const auto put = [&](const char* name, double value) { q[name].push_back(value); };
      put("A", A);
      put("E", E);
      put("gsw", gsw);
      put("Ci", ci);
      put("CO2r", cr);
      put("CO2s", cs);
      put("H2Or", wr);
      put("H2Os", ws);
      put("flow", flow);
      put("area", area);
      put("Tleaf", tl);
      put("Tair", ta);
      put("Patm", P);
      put("gbw", gbw);
      put("stomatal_ratio", ratio);
      put("VPDleaf", saturation(tl) - ws * P);
      put("RHs", ws * P / saturation(ta));
      put("Qin", light + 2 * draw.normal());
      // Near relatives.
      put("set flow", set_flow);
      put("set CO2", set);
      put("Ci/Ca", ci / cs);
      put("gtw", gtw);
      put("gtc", gtc);
      put("CO2r_dry", cr / (1 - wr));
      put("CO2s_dry", cs / (1 - ws));
      put("H2Or_dry", wr / (1 - wr));
      put("H2Os_dry", ws / (1 - ws));
      put("Tblock", std::round(10 * warm) / 10);
      put("Tleaf2", tl + 0.15 * draw.normal());
      put("VPDair", saturation(ta) - ws * P);
      put("overpressure", 120 + 5 * draw.normal());
      put("Qout", 300 + 20 * draw.normal());
      put("battery", 12.4 - 0.001 * static_cast<double>(q["A"].size()));
      put("fan", 10000);
      put("state", static_cast<double>(step % 3));
      put("record", static_cast<double>(q["A"].size()));
      put("elapsed", clock);
      put("leaf", static_cast<double>(leaf));
      put("A total", A * area);
      put("E total", E * area);
      put("WUE", A / E);
      put("dew", ta - 6 + 0.1 * draw.normal());
    }
  }
  return q;
}

/// The units that a quantity may be written in; the first is the open reporting format's.
inline const std::vector<Written>& units_of(const std::string& symbol) {
  static const double l0 = 8.314462618 * 273.15 / 101.325, l25 = 8.314462618 * 298.15 / 101.325;
  static const std::map<std::string, std::vector<Written>> all = {
      {"A", {{"umol m-2 s-1", 1e6, 0}, {"nmol m-2 s-1", 1e9, 0}, {"mol m-2 s-1", 1, 0}}},
      {"E", {{"mmol m-2 s-1", 1e3, 0}, {"mol m-2 s-1", 1, 0}, {"umol m-2 s-1", 1e6, 0}}},
      {"gsw", {{"mmol m-2 s-1", 1e3, 0}, {"mol m-2 s-1", 1, 0}}},
      {"gbw", {{"mmol m-2 s-1", 1e3, 0}, {"mol m-2 s-1", 1, 0}}},
      {"CO2", {{"umol mol-1", 1e6, 0}, {"mmol mol-1", 1e3, 0}, {"mol mol-1", 1, 0}}},
      {"H2O", {{"mmol mol-1", 1e3, 0}, {"mol mol-1", 1, 0}, {"umol mol-1", 1e6, 0}}},
      {"flow",
       {{"umol s-1", 1e6, 0},
        {"mmol s-1", 1e3, 0},
        {"mL/min at 0 degC, 101.325 kPa", 6e4 * l0, 0},
        {"L/min at 0 degC, 101.325 kPa", 60 * l0, 0},
        {"L/min at 25 degC, 101.325 kPa", 60 * l25, 0}}},
      {"area", {{"cm2", 1e4, 0}, {"mm2", 1e6, 0}, {"m2", 1, 0}}},
      {"Patm", {{"kPa", 1e-3, 0}, {"hPa", 1e-2, 0}, {"Pa", 1, 0}, {"bar", 1e-5, 0}}},
      {"T", {{"degC", 1, 0}, {"K", 1, 273.15}}},
      {"VPD", {{"kPa", 1e-3, 0}, {"hPa", 1e-2, 0}, {"Pa", 1, 0}}},
      {"RHs", {{"%", 100, 0}, {"1", 1, 0}}},
      {"1", {{"1", 1, 0}}}};
  const auto kind = [&]() -> std::string {
    if (symbol.rfind("CO2", 0) == 0 || symbol == "Ci" || symbol == "set CO2") return "CO2";
    if (symbol.rfind("H2O", 0) == 0) return "H2O";
    if (symbol == "set flow") return "flow";
    if (symbol == "gtw" || symbol == "gtc") return "gsw";
    if (symbol[0] == 'T') return "T";
    if (symbol.rfind("VPD", 0) == 0) return "VPD";
    return all.contains(symbol) ? symbol : "1";
  }();
  return all.at(kind);
}

inline std::string number_text(double value, int digits, bool fixed, double typical, char decimal) {
  char text[64];
  if (fixed) {
    const int before = static_cast<int>(std::floor(std::log10(typical))) + 1;
    std::snprintf(text, sizeof text, "%.*f", std::max(0, digits - before), value);
  } else {
    std::snprintf(text, sizeof text, "%.*g", digits, value);
  }
  for (char* c = text; *c != 0; ++c) {
    if (*c == '.') *c = decimal;
  }
  return text;
}

inline double read_back(std::string text, char decimal) {
  for (char& c : text) c = c == decimal ? '.' : c;
  return std::strtod(text.c_str(), nullptr);
}

/// A log: number `seed` of them, with the stated number of significant digits.
inline Disguised make(std::uint64_t seed, int digits) {
  RandomStream draw(seed, "disguised log", "tests");
  Disguised out;
  const Quantities q = instrument(draw, 3 + draw.index(4), 8 + draw.index(5));
  std::vector<std::string> names{"A",    "E",    "gsw",   "Ci",   "CO2r", "CO2s", "H2Or", "H2Os",
                                 "flow", "area", "Tleaf", "Patm", "gbw",  "Qin",  "Tair"};
  // What is there in what form.
  if (draw.uniform() < 0.3) {
    for (std::string& name : names) {
      if (name == "CO2r" || name == "CO2s") name += "_dry";
    }
  }
  if (draw.uniform() < 0.25) {
    for (std::string& name : names) {
      if (name == "H2Or" || name == "H2Os") name += "_dry";
    }
  }
  const auto drop = [&](const std::string& name) { std::erase(names, name); };
  const double what = draw.uniform();
  if (what < 0.04) {
    drop("E");
    out.recorded_E = false;
  } else if (what < 0.08) {
    drop("A");
    out.recorded_A = false;
  } else if (what < 0.12) {
    drop("flow");  // only its set-point, if anything, is left
    out.recorded_E = out.recorded_A = false;
  } else if (what < 0.15) {
    drop("Tleaf");
  } else if (what < 0.18) {
    drop("gbw");
  } else if (what < 0.20) {
    drop("Ci");
  }
  for (const char* more : {"stomatal_ratio", "VPDleaf",  "RHs",      "set flow",
                           "set CO2",        "Ci/Ca",    "gtw",      "gtc",
                           "CO2r_dry",       "CO2s_dry", "H2Or_dry", "H2Os_dry",
                           "Tblock",         "Tleaf2",   "VPDair",   "overpressure",
                           "Qout",           "battery",  "fan",      "state",
                           "record",         "elapsed",  "leaf",     "A total",
                           "E total",        "WUE",      "dew"}) {
    const bool there = std::find(names.begin(), names.end(), more) != names.end();
    if (!there && draw.uniform() < 0.55) names.emplace_back(more);
  }
  for (std::size_t i = names.size(); i > 1; --i) std::swap(names[i - 1], names[draw.index(i)]);

  const char decimal = draw.uniform() < 0.3 ? ',' : '.';
  const char between = decimal == ',' ? ';' : (draw.uniform() < 0.5 ? ',' : '\t');
  const bool fixed = draw.uniform() < 0.7, same_units = draw.uniform() < 0.3;
  const double wrong_area = draw.uniform() < 0.06 ? 5.0 / 3 : 1;
  out.area_right = wrong_area == 1;
  const std::size_t rows = q.at("A").size();
  std::vector<std::vector<std::string>> cells(rows);
  std::string titles;
  for (std::size_t n = 0; n < names.size(); ++n) {
    const std::string& name = names[n];
    const auto& units = units_of(name);
    const Written& unit = same_units ? units.front() : units[draw.index(units.size())];
    Column column;
    column.symbol = name;
    column.unit = unit.unit;
    column.title = "k" + std::to_string(100 + draw.index(800)) + static_cast<char>('a' + n % 26) +
                   std::to_string(n);
    titles += (n == 0 ? "" : std::string(1, between)) + column.title;
    Numbers size;
    for (const double v : q.at(name)) size.push_back(std::abs(v * unit.scale + unit.offset));
    std::nth_element(size.begin(), size.begin() + static_cast<std::ptrdiff_t>(size.size() / 2),
                     size.end());
    const double typical = std::max(size[size.size() / 2], 1e-9);
    for (std::size_t row = 0; row < rows; ++row) {
      double value = q.at(name)[row] * unit.scale + unit.offset;
      if (name == "area") value *= wrong_area;
      cells[row].push_back(number_text(value, digits, fixed, typical, decimal));
      column.values.push_back(read_back(cells[row].back(), decimal));
    }
    out.truth[name] = std::move(column);
  }
  out.text = titles + "\n";
  for (const auto& row : cells) {
    for (std::size_t n = 0; n < row.size(); ++n) {
      out.text += (n == 0 ? "" : std::string(1, between)) + row[n];
    }
    out.text += "\n";
  }
  out.about = std::to_string(digits) + " digits, " + std::to_string(names.size()) + " columns";
  return out;
}

}  // namespace leafwright::disguise
