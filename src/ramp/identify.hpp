// The gas path from records of the empty chamber (docs/methods-gas-path.md):
//
//   S = F_{d,tau} * R / dil + c0 + c1 x + c2 x^2     x = F * R/1000, dil = (1 - Wr)/(1 - Ws)
//
// by least squares, the offsets eliminated linearly. The body of a ramp alone shows c0 - r L: lag
// and zero offset are one number. Holds, two directions or two rates tell them apart; d and tau are
// told apart by kinks and steps only. What a record does not tell is left empty and said.
//
// Standard errors count the white noise of both analysers (that of R through the filter: its slow
// part passes undamped, so residuals alone give errors that are a third too small) and a slow
// drift of the differential, which a ramp cannot tell from its offsets and which is therefore a
// setting.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/gas_path_filter.hpp"
#include "ramp/record.hpp"

namespace leafwright {

struct IdentifyOptions {
  Interpolation interpolation = Interpolation::cubic;
  /// Of the polynomial in x: 0, 1 or 2. Empty: 2 for records that span 400 umol mol-1 or more, 1
  /// from 30 on, else 0.
  std::optional<int> offset_order;
  double drift_sd = 0.03;             ///< of the differential, umol mol-1
  double drift_time_s = 400;          ///< its correlation falls to 1/e
  double max_lag_s = 60;              ///< lags from -a quarter of it to it are looked for
  double max_flow_step = 0.015;       ///< fraction by which the flow may step within a record
  bool estimate_averaging = false;    ///< the boxcar of CO2s as one more unknown
  bool refuse_leaf = true;            ///< is a record that looks like a leaf's refused?
  std::optional<std::string> gasket;  ///< as the user named its state
};

/// One path for all records, which must share one chamber flow (to 1.5 %); records of other flows
/// give GasPath::flow_law and leak, the path itself being that of the first record's flow.
/// Notes, about: "lag-not-identified", "split-not-identified", "lag-poorly-known",
/// "offset-and-leak", "leak-apart", "offset-large", "looks-like-a-leaf", "water-differs",
/// "chamber-disagrees", "misfit", "turns", "no-flow", and those of the records.
/// Errors: usage, no records; refused, an empty record that looks like a leaf's, or a flow that
/// steps within a record; unfit, too few rows, CO2r that does not move, or no convergence.
Result<GasPath> identify(const std::vector<RampRecord>& empties,
                         const IdentifyOptions& options = {});

/// Medians of flow, pressure and temperature, CO2 range, rate and date of a record.
PathConditions conditions_of(const RampRecord& record);

/// n/u in s: P V/(R T u) at the record's pressure (with the instrument's overpressure), temperature
/// and flow. Empty where one of them is missing.
std::optional<double> chamber_time_constant(const Instrument& instrument,
                                            const PathConditions& conditions);

/// The same for the moles in 1 cm3, umol: P/(R T).
std::optional<double> air_per_volume(const Instrument& instrument,
                                     const PathConditions& conditions);

}  // namespace leafwright
