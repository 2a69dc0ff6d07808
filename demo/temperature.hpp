// A second invented campaign: six leaves of one plant species, each measured at four leaf
// temperatures, to see how capacities follow temperature. Nothing in it was measured.
#pragma once

#include <cstdint>
#include <string>

namespace leafwright::demo {

/// What the leaves truly do: k(T) = k25 exp[Ha (T - 25)/(298.15 R (T + 273.15))].
inline constexpr double true_Ha_Vcmax = 66.0;  ///< kJ mol-1
inline constexpr double true_Ha_J = 47.0;      ///< kJ mol-1
inline constexpr double true_Ha_Rday = 44.0;   ///< kJ mol-1

struct TemperatureStudy {
  std::string log;      ///< bench.csv: one row a point, the open reporting format's names and units
  std::string samples;  ///< samples.csv: leaf and plant of each curve
  std::string truth;    ///< truth.csv: capacities at 25 degC of each leaf
};
TemperatureStudy make_temperature_study(std::uint64_t seed);

}  // namespace leafwright::demo
