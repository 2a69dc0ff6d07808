// Constants of physics that more than one room needs.
#pragma once

namespace leafwright {

/// Gas constant, J mol-1 K-1 (CODATA 2018, exact).
inline constexpr double gas_constant = 8.314462618;
inline constexpr double zero_celsius = 273.15;  ///< K

}  // namespace leafwright
