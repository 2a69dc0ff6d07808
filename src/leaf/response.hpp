// Temperature responses of capacities, relative to 25 degC:
//   Arrhenius  f(T) = exp[ Ha/(R 298.15) (1 - 298.15/T) ]
//   peaked     f(T) (1 + exp((298.15 dS - Hd)/(298.15 R))) / (1 + exp((T dS - Hd)/(T R)))
// (Medlyn et al. 2002, eqs 16-17; both are exactly 1 at 25 degC.)
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "base/error.hpp"

namespace leafwright {

/// Gas constant used throughout, J mol-1 K-1 (CODATA 2018, exact).
inline constexpr double gas_constant = 8.314462618;
inline constexpr double zero_celsius = 273.15;  ///< K
inline constexpr double reference_temperature = 298.15;  ///< K

/// exp[Ha/(R 298.15)(1 - 298.15/T)]; Ha in kJ mol-1, tleaf in degC.
double arrhenius(double Ha, double tleaf);
/// The peaked form; Ha, Hd in kJ mol-1, dS in J mol-1 K-1, tleaf in degC.
double peaked(double Ha, double Hd, double dS, double tleaf);
/// degC at which the peaked form is highest: Hd/(dS - R ln(Ha/(Hd-Ha))) - 273.15.
double peaked_optimum(double Ha, double Hd, double dS);

/// One parameter's response. `Hd` = 0 means plain Arrhenius.
struct Response {
  double Ha = 0;  ///< kJ mol-1
  double Hd = 0;  ///< kJ mol-1
  double dS = 0;  ///< J mol-1 K-1
  [[nodiscard]] double factor(double tleaf) const;  ///< relative to 25 degC
};

/// Published responses by author-year; a parameter the source does not treat is empty, and then no
/// value at 25 degC is given for it.
struct ResponseSet {
  std::string_view name;
  std::optional<Response> Vcmax, J, TPU, Rday;
  std::string_view citation;
  std::string_view standing;
};
std::span<const ResponseSet> response_sets();
Result<const ResponseSet*> find_response(std::string_view name);  ///< error: usage

}  // namespace leafwright
