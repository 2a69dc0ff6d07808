// Rubisco kinetics by author and year, with the CO2 they are meant for (Ci or Cc), and what they
// become at a leaf temperature and pressure.
//
//   k(T) = k25 exp[ Ha/(R 298.15) (1 - 298.15/T) ]          (Arrhenius; Ha in J mol-1, T in K)
//   Km = Kc (1 + O/Ko)
//
// Gamma* is proportional to the O2 partial pressure. A set published as mole fractions holds at
// 101.325 kPa unless it states another pressure; under Basis::partial_pressure the constants are
// kept as partial pressures and become mole fractions again at the curve's own pressure:
//   Kc, Ko   x(P) = x(P_set) P_set/P
//   Gamma*   x(P) = x(P_set) O/O_set      (its CO2 and its O2 scale together: P cancels)
// Under Basis::mole_fraction Kc and Ko keep their mole fraction whatever the pressure. The two
// readings of Bernacchi et al. (2001) differ by 45 % in Kc at 70 kPa, so outputs name the basis.
//
// Sources of the numbers, and which were looked up: docs/methods.md.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/note.hpp"

namespace leafwright {

/// What is held constant when the air pressure changes.
enum class Basis { partial_pressure, mole_fraction };
const char* basis_name(Basis basis);  ///< "partial-pressure", "mole-fraction"

/// Which CO2 the constants were derived for: Ci (gm taken as infinite) or Cc (gm finite).
enum class CarbonAt { Ci, Cc };
const char* carbon_at_name(CarbonAt carbon_at);  ///< "Ci", "Cc"

/// Constants at one leaf temperature and pressure, all as mole fractions.
struct Kinetics {
  double Kc = 0;          ///< umol mol-1 (NaN where only Km was given)
  double Ko = 0;          ///< mmol mol-1 (NaN where only Km was given)
  double O = 0;           ///< mmol mol-1
  double gamma_star = 0;  ///< umol mol-1
  double Km = 0;          ///< umol mol-1
};

/// One constant's value at 25 degC and its activation energy.
struct ArrheniusConstant {
  double at25 = 0;  ///< umol mol-1 (Kc, Gamma*) or mmol mol-1 (Ko), at `pressure`
  double Ha = 0;    ///< kJ mol-1
};

/// A published set. `name` is author-year, as typed by the user.
struct KineticsSet {
  std::string_view name;
  CarbonAt carbon_at = CarbonAt::Ci;
  ArrheniusConstant Kc, Ko, gamma_star;
  double O = 210;             ///< mmol mol-1 at which Gamma* was stated
  double pressure = 101.325;  ///< kPa at which the mole fractions hold
  std::string_view citation;
  /// Begins with "looked up" or "from memory" (if any constant is); what is which follows.
  std::string_view standing;
};

/// All sets, in the order of docs/methods.md. A set with a constant missing is left out.
std::span<const KineticsSet> kinetics_sets();

/// Error: usage, naming the known sets.
Result<const KineticsSet*> find_kinetics(std::string_view name);

/// Values given by the user at leaf temperature, as mole fractions; they replace the set's.
/// A given Km replaces Kc(1+O/Ko) whatever Kc and Ko are; those not given as well are then NaN,
/// since they did not make the Km. A given O moves the set's Gamma* (x O/O_set) unless Gamma* is
/// given too.
struct KineticOverrides {
  std::optional<double> Kc, Ko, O, gamma_star, Km;
};

/// Parses one `SYMBOL=VALUE` (Kc, Ko, O, GammaStar, Km) into `overrides`. Errors: usage, for an
/// unknown symbol, a symbol given twice, or a value that is not positive.
Result<void> set_override(KineticOverrides& overrides, std::string_view assignment);

/// The set at `tleaf` (degC) and `patm` (kPa). Errors: unfit, for tleaf outside -10..60 degC, patm
/// outside 30..120 kPa, a non-finite argument or an override that is not positive; Km <= 2 Gamma*
/// is not an error here.
Result<Kinetics> kinetics_at(const KineticsSet& set, double tleaf, double patm, Basis basis,
                             const KineticOverrides& overrides = {});

/// Do the set and the mesophyll conductance belong together? Constants derived for Ci already hold
/// the drop from Ci to Cc, so a finite gm would count it twice.
/// Errors: refused, for a Ci set with a finite gm. A Cc set with gm infinite passes with a warning:
/// Vcmax then comes out too low (it is an apparent value). Otherwise no note.
Result<Notes> check_gm_basis(const KineticsSet& set, bool gm_finite);

}  // namespace leafwright
