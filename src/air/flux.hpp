// From the mole fractions before and behind the leaf to E, A, gsw and Ci.
//
//   P    = Patm + overpressure
//   E, A  balance.hpp: steady terms + storage (where given) + leak (where given)
//   w_l  = e_s(Tleaf)/P                      VPDleaf = e_s(Tleaf) - w_s P
//   gtw  = E [1 - (w_l + w_s)/2]/(w_l - w_s)
//   gsw, gtc, gbc from gtw and the boundary layer: conductance.hpp
//   Ci   = [(gtc - E/2) c_s - A]/(gtc + E/2)   c_s = CO2s per moist air; leaving out E/2 raises Ci
//   CO2 at the leaf surface: the same with gbc
//   CiCa = Ci/c_s,  WUEi = A/gsw,  RHs = 100 w_s P/e_s(Tair)
// von Caemmerer & Farquhar 1981, Planta 153:376 (docs/methods-air.md).
//
// Units are those of quantity/symbol.hpp: E, gsw, gbw, gtw, gtc mmol m-2 s-1; A umol m-2 s-1; H2O
// mmol mol-1; CO2 umol mol-1; flow umol s-1; area cm2; pressures kPa; temperatures degC.
#pragma once

#include <limits>
#include <optional>
#include <string_view>

#include "air/conductance.hpp"
#include "air/vapour.hpp"
#include "base/error.hpp"

namespace leafwright {

/// Which air the CO2 mole fractions count. Mixing the two up is 1 to 3 % of CO2 and far more of A.
enum class Co2Per { moist_air, dry_air };
const char* co2_per_name(Co2Per per);  ///< "moist air", "dry air"
/// Error: usage, naming both.
Result<Co2Per> find_co2_per(std::string_view name);

/// What every number of a record holds until it is given: using it is an error, never a 0.
inline constexpr double not_given = std::numeric_limits<double>::quiet_NaN();

/// How the chamber's content changes, for records that are not at steady state.
struct Storage {
  double volume = not_given;    ///< cm3 of air that mixes
  double Tair = not_given;      ///< degC
  double dCO2s_dt = not_given;  ///< umol mol-1 s-1, per the air that FluxOptions::co2_per names
  double dH2Os_dt = not_given;  ///< mmol mol-1 s-1
};

/// A leak measured by the user; balance.hpp.
struct Leak {
  double K = not_given;            ///< umol s-1 per unit of mole fraction, >= 0
  double CO2_ambient = not_given;  ///< umol mol-1 round the gasket, moist air
};
struct WaterLeak {
  double K = not_given;            ///< umol s-1 per unit of mole fraction, >= 0
  double H2O_ambient = not_given;  ///< mmol mol-1 round the gasket
};

/// One record.
struct FluxInput {
  double flow = not_given;  ///< moist air into the chamber
  double area = not_given;  ///< what fluxes are divided by: area_on() of balance.hpp
  double CO2r = not_given, CO2s = not_given;
  double H2Or = not_given, H2Os = not_given;
  double Tleaf = not_given;
  double Patm = not_given;
  std::optional<double> gbw = {};   ///< empty: no gsw and no Ci
  std::optional<double> Tair = {};  ///< empty: no RHs
  std::optional<Storage> storage = {};
};

/// What holds for a whole log: the instrument and the user's choices.
struct FluxOptions {
  VapourPressure vapour_pressure = VapourPressure::leaf_common;
  Enhancement enhancement = Enhancement::none;
  double overpressure = 0;                    ///< kPa above Patm in the chamber
  std::optional<GbwIs> gbw_is = {};           ///< must be stated where gbw is given
  std::optional<double> stomatal_ratio = {};  ///< must be stated where gbw is per side
  TwoSides two_sides = TwoSides::exact;
  Co2Per co2_per = Co2Per::moist_air;
  std::optional<Leak> leak = {};
  std::optional<WaterLeak> water_leak = {};
};

/// Why there is no gsw or no Ci.
enum class NoLeaf {
  none,                ///< both are there
  no_gbw,              ///< gbw is not given
  vpd_not_positive,    ///< no gradient that could drive E
  boundary_too_small,  ///< E is more than the boundary layer lets through: gbw, Tleaf or E is wrong
  gsw_not_positive,    ///< gsw is there (<= 0: noise about closed stomata), Ci is not
};
/// "" for none, else "gbw is not given", ...
const char* no_leaf_text(NoLeaf why);

/// What follows from E, A and the air about the leaf.
struct LeafState {
  double VPDleaf = 0;
  std::optional<double> gtw, gsw, gtc;
  std::optional<double> Ci;
  std::optional<double> CO2_surface;
  std::optional<double> CiCa;
  std::optional<double> WUEi;  ///< umol mol-1
  NoLeaf why = NoLeaf::none;
};

struct FluxResult {
  double E = 0, A = 0;
  double E_storage = 0, A_storage = 0;  ///< parts of E and A
  double E_leak = 0, A_leak = 0;        ///< parts of E and A
  double CO2s_moist = 0;                ///< CO2s per moist air, as Ci is
  std::optional<double> RHs;            ///< %
  LeafState leaf;
};

/// The air about the leaf, for fluxes that come from elsewhere (corrected ramps, recorded columns).
struct LeafAir {
  double CO2s = not_given;  ///< per moist air
  double H2Os = not_given;
  double Tleaf = not_given;
  double Patm = not_given;
  std::optional<double> gbw = {};
};

/// Are the choices complete and do they agree? Errors: usage, for a gbw (has_gbw) whose meaning or
/// stomatal ratio is not stated, a second enhancement, or a number out of range.
Result<void> check_options(const FluxOptions& options, bool has_gbw);

/// gsw, Ci and the rest from E and A. Errors: usage as check_options; unfit, for a number that is
/// not finite, Tleaf outside -10..60 degC, Patm + overpressure outside 30..130 kPa, H2Os outside
/// -100..500 mmol mol-1, gbw not positive.
Result<LeafState> leaf_state(double E, double A, const LeafAir& air, const FluxOptions& options);

/// All of it. Errors: as leaf_state, and unfit for flow, area or volume not positive, or Tair
/// outside -20..80 degC.
Result<FluxResult> flux(const FluxInput& input, const FluxOptions& options);

}  // namespace leafwright
