// Saturation vapour pressure over liquid water in its published forms, enhancement by moist air,
// and the dew point. The form is a setting: from the leaf's temperature alone the forms differ by
// 0.6 % at 25 degC, which moves gsw by 1 to 2 %, so outputs name the form.
//
//   leaf-common             0.61365 exp(17.502 t/(240.97 + t)) kPa, Buck (1981) x 1.004
//   buck-1981               0.61121 exp(17.502 t/(240.97 + t))
//   wmo-2008                0.6112  exp(17.62 t/(243.12 + t))
//   alduchov-eskridge-1996  0.61094 exp(17.625 t/(243.04 + t))
//   tetens-1930             0.61078 exp(17.2694 t/(237.3 + t))
//   wmo-1957, goff-gratch-1946, iapws-1992, iapws-if97     docs/methods-air.md
//
// t in degC (also below 0: supercooled water, not ice), pressures in kPa.
#pragma once

#include <span>
#include <string_view>

#include "base/error.hpp"

namespace leafwright {

enum class VapourPressure {
  leaf_common,  ///< the default: usual in leaf gas exchange, enhancement 1.004 included
  buck_1981,
  iapws_1992,
  wmo_1957,
  goff_gratch_1946,
  iapws_if97,
  wmo_2008,
  alduchov_eskridge_1996,
  tetens_1930,
};

/// What is known of one form.
struct VapourPressureForm {
  VapourPressure id = VapourPressure::leaf_common;
  std::string_view name;     ///< as typed by the user, author-year
  double low = 0, high = 0;  ///< degC; where its authors state it (outside: extrapolated)
  bool moist = false;        ///< the enhancement by air is part of the numbers
  std::string_view citation;
  std::string_view standing;  ///< begins with "looked up" or "from memory"
};

/// All forms, the default first.
std::span<const VapourPressureForm> vapour_pressure_forms();
const VapourPressureForm& vapour_pressure_form(VapourPressure id);

/// Error: usage, naming the known forms.
Result<VapourPressure> find_vapour_pressure(std::string_view name);

/// e_s in kPa at `t` degC, pure phase (but see VapourPressureForm::moist). Throws std::logic_error
/// outside -100..373.9 degC: callers check temperatures before.
double saturation_pressure(VapourPressure form, double t);

/// The temperature (degC) at which saturation_pressure is `e` kPa: in closed form for the four
/// Magnus-type forms, else by root finding to 1e-12 relative. Error: unfit, where e is not within
/// the form's values at -90 and 150 degC.
Result<double> dew_point(VapourPressure form, double e);

/// How much more vapour moist air at total pressure P holds than the pure phase: e'_s = f(P) e_s.
enum class Enhancement {
  none,
  buck_1981,  ///< 1.0007 + 3.46e-6 P, P in hPa (Buck 1981, J Appl Meteorol 20:1527; looked up)
  wmo_2008,   ///< 1.0016 + 3.15e-6 P - 0.074/P, P in hPa (WMO-No. 8, 2008, Annex 4.B; looked up)
};
const char* enhancement_name(Enhancement enhancement);  ///< "none", "buck-1981", "wmo-2008"
/// Error: usage, naming the known factors.
Result<Enhancement> find_enhancement(std::string_view name);

/// f at total pressure `p` kPa (> 0).
double enhancement_factor(Enhancement enhancement, double p);

/// f(p) e_s(t): vapour pressure of saturated air at `t` degC and total pressure `p` kPa.
double saturation_pressure(VapourPressure form, Enhancement enhancement, double t, double p);

/// Error: usage, where the form already holds an enhancement and another is asked for on top.
Result<void> check_enhancement(VapourPressure form, Enhancement enhancement);

}  // namespace leafwright
