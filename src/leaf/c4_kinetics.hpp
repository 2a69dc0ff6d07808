// Constants of the C4 model by author and year, and what they become at a leaf temperature and
// pressure. All are partial pressures at 1 bar's worth of digits: CO2 in ubar, O2 in mbar.
//
//   k(T) = k25 exp[ Ha/(R 298.15) (1 - 298.15/T) ]
//   gamma* = 0.5 / S(c/o), the half of the reciprocal Rubisco specificity, dimensionless (the
//            CO2 compensation point of Rubisco is gamma* O)
//
// Enzyme constants are partial pressures; under Basis::mole_fraction they keep the mole fraction
// that they have at 1 bar. Sources and which were looked up: docs/methods-c4.md.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "base/error.hpp"
#include "leaf/kinetics.hpp"
#include "leaf/response.hpp"

namespace leafwright {

/// Constants at one leaf temperature and pressure. The last five are properties of the leaf and of
/// the model rather than of the enzymes; they carry the values of von Caemmerer (2000).
struct C4Kinetics {
  double Kc = 0;          ///< ubar, Rubisco
  double Ko = 0;          ///< mbar, Rubisco
  double Kp = 0;          ///< ubar, PEP carboxylase
  double gamma_star = 0;  ///< 1
  double O = 210;         ///< mbar, in the mesophyll
  double gbs = 0.003;     ///< mol m-2 s-1 bar-1, conductance of the bundle sheath to CO2
  double alpha = 0;       ///< 0..1, share of O2 evolved in the bundle sheath
  double ao = 0.047;      ///< 1, gbs to O2 over gbs to CO2 (25 degC)
  double x = 0.4;         ///< 0..1, share of electron transport for the C4 cycle
  double z = 1;           ///< 1, see c4_atp_factor
  double rm_share = 0.5;  ///< 0..1, respiration of the mesophyll over Rday
};

/// (3 - fcyc)/(4 (1 - fcyc)): what multiplies J in the form of von Caemmerer (2021), for a share
/// `fcyc` (0 <= fcyc < 1) of cyclic electron flow. 1/3 gives 1, the form of 2000. Throws
/// std::logic_error out of range.
double c4_atp_factor(double fcyc);

/// A constant at 25 degC and its activation energy.
struct C4Constant {
  double at25 = 0;
  double Ha = 0;  ///< kJ mol-1
};

/// A published set; `name` is author-year, as typed by the user.
struct C4KineticsSet {
  std::string_view name;
  C4Constant Kc, Ko, Kp, gamma_star;
  double O = 210;  ///< mbar
  std::string_view citation;
  std::string_view standing;  ///< begins with "looked up" or "from memory"
};

std::span<const C4KineticsSet> c4_kinetics_sets();

/// Error: usage, naming the known sets.
Result<const C4KineticsSet*> find_c4_kinetics(std::string_view name);

/// Published temperature responses of C4 capacities; an empty one is not treated by the source.
/// Kept apart from those of C3 leaves, whose spread says nothing about these.
struct C4ResponseSet {
  std::string_view name;
  std::optional<Response> Vpmax, Vcmax, J, Rday;
  std::string_view citation;
  std::string_view standing;
};
std::span<const C4ResponseSet> c4_response_sets();
/// Error: usage, naming the known sets.
Result<const C4ResponseSet*> find_c4_response(std::string_view name);

/// The user's own values at leaf temperature, as mole fractions: Kc and Kp in umol mol-1, Ko and O
/// in mmol mol-1; gbs in mol m-2 s-1 bar-1.
struct C4Overrides {
  std::optional<double> Kc, Ko, Kp, O;
};

/// Parses one `SYMBOL=VALUE` (Kc, Ko, Kp, O). Errors: usage.
Result<void> set_c4_override(C4Overrides& overrides, std::string_view assignment);

/// The set at `tleaf` (degC) and `patm` (kPa). O is `set.O` at 1 bar times the pressure. Errors:
/// unfit, for tleaf outside -10..60 degC or patm outside 30..120 kPa.
Result<C4Kinetics> c4_kinetics_at(const C4KineticsSet& set, double tleaf, double patm, Basis basis,
                                  const C4Overrides& overrides = {});

}  // namespace leafwright
