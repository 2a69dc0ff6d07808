// The case that the accuracy of ramps is judged on, and small statistics of many draws.
//
// Chamber 40 mL at 350 umol s-1, cells at 200 mL min-1, 22 degC, 98 kPa: time constant 4.56 s, lag
// 5.70 s; noise 0.1 umol mol-1 in each cell over 1 s, drift 0.03; a C3 leaf. The same case as that
// of the independent simulations in tests/published/data/ramps_simulated, so that numbers can be
// compared.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "plan/simulated_record.hpp"

namespace leafwright::bench {

struct RampCase {
  double rate = 200;  ///< umol mol-1 min-1
  bool up = true;
  double sigma = 0.1;
  double drift = 0.03;
};

inline SimulatorSettings study_settings(const RampCase& c, bool empty) {
  SimulatorSettings s;
  s.empty = empty;
  s.curve = empty ? "empty" : "leaf";
  s.paths = {40, 10, 5, 5, 5, 0, 5, 200};
  s.air.flow = 350;
  s.air.Patm = 98;
  s.air.Tair = 22;
  s.air.Tleaf = 22;
  s.air.H2Or = 15;
  s.area = 2.545;
  s.leaf.c3 = {60, 115, 8.2, 1};
  s.leaf.kinetics = {302.270892681458, 247.9576153545109, 210, 37.84968819918311,
                     558.2698357764373};
  s.stomata.gsw = 300;
  s.stomata.layer = {3000, GbwIs::whole_leaf, 1, TwoSides::exact};
  s.offset = {0.4, -1.5, 0.8};
  s.noise = {c.sigma, 0, c.drift, 400, 0.01, 0.01, 0.05};
  s.source.start = c.up ? 50 : 1000;
  s.source.end = c.up ? 1000 : 50;
  s.source.rate = c.rate;
  s.source.hold_before = s.source.hold_after = 40;
  s.source.time_constant = 0.6;
  s.step = 0.1;
  return s;
}

/// Mean, SD and the standard errors of both, of the values that are numbers.
struct Moments {
  std::size_t n = 0;
  double mean = 0, sd = 0;
  [[nodiscard]] double se() const { return n > 0 ? sd / std::sqrt(static_cast<double>(n)) : 0; }
};

inline Moments moments(const std::vector<double>& values) {
  Moments out;
  double sum = 0;
  for (const double v : values) {
    if (!std::isfinite(v)) continue;
    ++out.n;
    sum += v;
  }
  if (out.n == 0) return out;
  out.mean = sum / static_cast<double>(out.n);
  double squares = 0;
  for (const double v : values) {
    if (std::isfinite(v)) squares += (v - out.mean) * (v - out.mean);
  }
  if (out.n > 1) out.sd = std::sqrt(squares / static_cast<double>(out.n - 1));
  return out;
}

/// "up 200".
inline std::string name_of(const RampCase& c) {
  return (c.up ? "up " : "down ") + std::to_string(static_cast<int>(c.rate));
}

}  // namespace leafwright::bench
