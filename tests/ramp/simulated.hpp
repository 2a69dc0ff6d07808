// A ramp through an exactly known path, in closed form and so apart from the library's own filter:
// the source is a chain of straight lines whose corners are rounded by one mixing volume
// (time constant k), the path a dead time d and a second volume (tau). For a corner of slope change
// g at time c the response of two volumes in series to a ramp is
//   g [t - k - tau + (k^2 e^(-t/k) - tau^2 e^(-t/tau))/(k - tau)],  t = time - c - d.
#pragma once

#include <cmath>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "ramp/record.hpp"

namespace leafwright::ramp_test {

struct Corner {
  double time = 0, slope_change = 0;
};

struct Truth {
  double start = 50;
  std::vector<Corner> corners;
  double seconds = 0;
  double k = 2, delay = 1.2, mixing = 4.5;
  double c0 = 0.4, c1 = -1.5, c2 = 0.8;
  double flow = 350, interval = 1;
  double leak = 0, ambient = 420;
};

/// Hold, ramp from `from` to `to` at `rate` per minute, hold.
inline Truth up_ramp(double from = 50, double to = 1000, double rate = 200, double hold = 40) {
  Truth truth;
  truth.start = from;
  const double slope = (to > from ? 1 : -1) * rate / 60, end = hold + (to - from) / slope;
  truth.corners = {{hold, slope}, {end, -slope}};
  truth.seconds = end + hold;
  return truth;
}

/// A source that was moving at `slope` long before the record began, and never stops.
inline Truth body_only(double slope = 200.0 / 60) {
  Truth truth;
  truth.start = 50 - 200 * slope;
  truth.corners = {{-200, slope}};
  truth.seconds = 280;
  return truth;
}

inline double one_volume(double t, double k) {
  return t <= 0 ? 0 : t - k + k * std::exp(-t / k);
}
inline double two_volumes(double t, double k, double tau) {
  if (t <= 0) return 0;
  return t - k - tau + (k * k * std::exp(-t / k) - tau * tau * std::exp(-t / tau)) / (k - tau);
}

inline double reference_at(const Truth& truth, double time) {
  double value = truth.start;
  for (const Corner& c : truth.corners)
    value += c.slope_change * one_volume(time - c.time, truth.k);
  return value;
}
inline double matched_at(const Truth& truth, double time) {
  double value = truth.start;
  for (const Corner& c : truth.corners)
    value += c.slope_change * two_volumes(time - c.time - truth.delay, truth.k, truth.mixing);
  return value;
}

/// `noise` per cell; a drift of the differential with sd 0.3 of it and 400 s, as `seed` >= 0 says.
inline RampRecord simulated(const Truth& truth, double noise = 0, std::uint32_t seed = 0,
                            const std::string& name = "empty.csv") {
  RampRecord record;
  record.name = name;
  record.role = RecordRole::empty;
  RandomStream draw(20, "empty", "noise", seed);
  const double kept = std::exp(-truth.interval / 400), drift_sd = 0.3 * noise;
  double drift = drift_sd * draw.normal();
  for (std::size_t i = 0; static_cast<double>(i) * truth.interval <= truth.seconds; ++i) {
    const double time = static_cast<double>(i) * truth.interval;
    const double C = matched_at(truth, time), x = C / 1000;
    drift = kept * drift + std::sqrt(1 - kept * kept) * drift_sd * draw.normal();
    record.rows.push_back(i);
    record.time_s.push_back(time);
    record.CO2r.push_back(reference_at(truth, time) + noise * draw.normal());
    record.CO2s.push_back(C + truth.c0 + truth.c1 * x + truth.c2 * x * x -
                          truth.leak / truth.flow * (C - truth.ambient) + drift +
                          noise * draw.normal());
    record.flow.push_back(truth.flow);
    record.Patm.push_back(98);
    record.Tair.push_back(22);
  }
  return record;
}

}  // namespace leafwright::ramp_test
