// A continuous record of both gas streams, as series over time: a CO2 ramp on a leaf, or the same
// with the chamber empty. Every correction reads this and nothing else.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"
#include "base/note.hpp"
#include "log/instrument.hpp"

namespace leafwright {

enum class RecordRole { leaf, empty };

/// Series of equal length, in the units of quantity/symbol.hpp; times strictly increase. Not a
/// number marks a missing value inside a series; a series that the log lacks is empty.
struct RampRecord {
  std::string name;  ///< for messages: file, or file and curve_id
  RecordRole role = RecordRole::leaf;
  std::vector<std::size_t> rows;  ///< rows of the log, in the order of the series
  std::vector<double> time_s;
  std::vector<double> CO2r, CO2s;  ///< umol mol-1, per `co2_per`
  std::vector<double> H2Or, H2Os;  ///< mmol mol-1
  std::vector<double> flow;        ///< umol s-1, moist air into the chamber
  std::vector<double> Tair, Tleaf, Patm, Qin, gbw;
  std::vector<double> A_recorded, Ci_recorded;
  std::optional<double> area;  ///< cm2; not needed for an empty chamber
  Co2Per co2_per = Co2Per::moist_air;
  Instrument instrument;
  Notes notes;

  [[nodiscard]] std::size_t size() const { return time_s.size(); }
};

}  // namespace leafwright
