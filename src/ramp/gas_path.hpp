// The gas path between the two analysers as an empty-chamber record shows it. How it is identified:
// identify.hpp.
//
//   S = F_{d,tau} * R + offset(x),   x = CO2r/1000,   F: dead time d, then first-order mixing tau
//   lag L = d + tau (> 0: the sample record is late)
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/note.hpp"

namespace leafwright {

struct WithError {
  double value = 0;
  double se = 0;
};

/// The conditions under which a path or an offset was found; corrections compare them with the
/// leaf's record.
struct PathConditions {
  double flow = 0;                    ///< umol s-1
  double Patm = 0;                    ///< kPa
  std::optional<double> Tair;         ///< degC
  std::optional<double> rate;         ///< umol mol-1 s-1, signed; empty for steps or several rates
  double CO2_low = 0, CO2_high = 0;   ///< umol mol-1
  std::optional<std::string> date;    ///< YYYY-MM-DD, where the record says
  std::optional<std::string> gasket;  ///< as the user named its state
};

/// One record as the fit saw it, for figures; one entry per row used.
struct PathTrace {
  std::string record;
  std::vector<std::size_t> rows;  ///< of the log
  std::vector<double> time_s, CO2r;
  std::vector<double> matched;     ///< F * R, diluted by the water that the record shows
  std::vector<double> difference;  ///< S - matched
  std::vector<double> offset;      ///< as fitted
};

/// L = a + b/u over several chamber flows u: a from what the analysers draw, b from what the
/// chamber flow must fill (chamber and inlet, in umol of air).
struct FlowLaw {
  WithError a;                         ///< s
  WithError b;                         ///< umol
  double covariance = 0;               ///< of a and b
  std::optional<WithError> null_flow;  ///< -b/a, umol s-1; empty where a >= 0: no flow is the null
  std::optional<WithError> inlet_volume;  ///< cm3: b less the chamber's, where its volume is known
  std::vector<double> flows, lags;        ///< what it was found from
};

/// A leak told apart from the offset by two flows: the differential is -K/u (C - ambient).
struct PathLeak {
  WithError K;        ///< umol s-1 per unit of mole fraction
  WithError ambient;  ///< CO2 round the gasket, umol mol-1; meaningful where K is well above its se
};

struct GasPath {
  std::vector<std::string> records;  ///< names of the empty records
  PathConditions conditions;
  std::optional<WithError> lag_s;       ///< empty: the record cannot tell it from the zero offset
  std::optional<WithError> delay_s;     ///< d; empty where d and tau cannot be told apart
  std::optional<WithError> mixing_s;    ///< tau
  std::optional<double> chamber_tau_s;  ///< n/u of the chamber, from volume, pressure, temperature
  std::array<double, 3> offset = {};    ///< c0, c1, c2 of S - R, umol mol-1, in x = CO2r/1000
  /// Covariance of (lag, c0, c1, c2), row by row.
  std::array<double, 16> covariance = {};
  double noise_sd = 0;            ///< of S - R in one row, umol mol-1
  double noise_sd_R = 0;          ///< of one row of R alone, from its second differences
  double noise_correlation = 0;   ///< lag-1 correlation of the residuals
  std::vector<double> residuals;  ///< one per row used, for the figure
  std::vector<PathTrace> traces;  ///< in the order of `residuals`; empty when read from a file
  /// Was the leak taken out of `offset`? If not, it is "offset + leak" of a chamber at `flow`.
  bool leak_apart = false;
  std::optional<PathLeak> leak;
  std::optional<FlowLaw> flow_law;
  std::optional<WithError> averaging_s;  ///< boxcar of CO2s that was estimated
  Notes notes;
};

}  // namespace leafwright
