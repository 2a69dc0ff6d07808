// Temperature responses of capacities, relative to 25 degC:
//   Arrhenius  f(T) = exp[ Ha/(R 298.15) (1 - 298.15/T) ]
//   peaked     f(T) (1 + exp((298.15 dS - Hd)/(298.15 R))) / (1 + exp((T dS - Hd)/(T R)))
// (Medlyn et al. 2002, eqs 16-17; both are exactly 1 at 25 degC.)
// Sources print either these or exp(c - Ha/RT), whose value at 25 degC is 1 only to the digits of
// c; sets published in the second form are used here in the first, so that a value at 25 degC is
// what it says. Temperatures are not checked: callers hold them within -10..60 degC (kinetics_at,
// move_to_25 do).
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "quantity/constants.hpp"

namespace leafwright {

inline constexpr double reference_temperature = 298.15;  ///< K

/// exp[Ha/(R 298.15)(1 - 298.15/T)]; Ha in kJ mol-1, tleaf in degC.
double arrhenius(double Ha, double tleaf);
/// The peaked form; Ha, Hd in kJ mol-1, dS in J mol-1 K-1, tleaf in degC.
double peaked(double Ha, double Hd, double dS, double tleaf);
/// degC at which the peaked form is highest: Hd/(dS - R ln(Ha/(Hd-Ha))) - 273.15. Needs
/// 0 < Ha < Hd; throws std::logic_error otherwise.
double peaked_optimum(double Ha, double Hd, double dS);

/// One parameter's response. `Hd` = 0 means plain Arrhenius.
struct Response {
  double Ha = 0;                                    ///< kJ mol-1
  double Hd = 0;                                    ///< kJ mol-1
  double dS = 0;                                    ///< J mol-1 K-1
  [[nodiscard]] double factor(double tleaf) const;  ///< relative to 25 degC
};

/// A capacity that has a response.
enum class Capacity { Vcmax, J, TPU, Rday };
const char* capacity_name(Capacity capacity);  ///< "Vcmax", "J", "TPU", "Rday"

/// Published responses by author-year; a parameter the source does not treat is empty, and then no
/// value at 25 degC is given for it. Responses published for Jmax serve J (docs/methods.md).
struct ResponseSet {
  std::string_view name;
  std::optional<Response> Vcmax, J, TPU, Rday;
  std::string_view citation;
  /// Begins with "looked up" or "from memory" (if any number is); what is which follows.
  std::string_view standing;

  [[nodiscard]] const std::optional<Response>& of(Capacity capacity) const;
};

/// All sets, in the order of docs/methods.md.
std::span<const ResponseSet> response_sets();

/// Error: usage, naming the known sets.
Result<const ResponseSet*> find_response(std::string_view name);

/// Kattge & Knorr 2007: the responses of leaves grown at `tgrowth` degC,
///   dS(Vcmax) = 668.39 - 1.07 tgrowth, dS(Jmax) = 659.70 - 0.75 tgrowth   (J mol-1 K-1)
///   Jmax25/Vcmax25 = 2.59 - 0.035 tgrowth
struct GrowthResponse {
  Response Vcmax, J;
  double J_to_Vcmax = 0;  ///< at 25 degC
};
/// Error: usage, for tgrowth outside 11..35 degC, the range of the plants behind it (no clamping).
/// The sets named kattge-knorr-2007-tgNN are this at NN degC.
Result<GrowthResponse> kattge_knorr_2007(double tgrowth);

}  // namespace leafwright
