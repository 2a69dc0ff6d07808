// One-point Vcmax (De Kauwe et al. 2016, New Phytol. 210:1130): the capacity that explains a single
// record of A at saturating light, if Rubisco limits it.
//
//   Vcmax = (A + Rday)(Ci + Km)/(Ci - Gamma*)            Rday known
//   Vcmax = A/[(Ci - Gamma*)/(Ci + Km) - f]              Rday = f Vcmax
//
// Where RuBP, TPU or light limits, Rubisco could do more than it did: the value is then a lower
// bound. One record cannot tell which limits it, so rows are judged by rules, and each reason is
// given. The published error of the method belongs to the method, not to any single value.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"
#include "fit/fit.hpp"
#include "log/curve.hpp"

namespace leafwright {

struct OnePointOptions {
  const KineticsSet* kinetics = nullptr;  ///< required
  KineticOverrides overrides;
  Basis basis = Basis::partial_pressure;
  RdaySource rday;                    ///< value, column or fraction; fitted is a usage error
  const ResponseSet* at25 = nullptr;  ///< null: no values at 25 degC
  /// umol m-2 s-1: rows with less Qin are lower bounds; empty: light is not judged.
  std::optional<double> saturating_light;
  bool mean_of_curve = false;  ///< the used rows of a curve are averaged to one point
};

/// What a value is, from how it was measured.
enum class OnePointStatus {
  one_point,            ///< Ci where Rubisco usually limits, light not known to be too low
  perhaps_lower_bound,  ///< something else may limit
  lower_bound,          ///< something else usually limits
  refused,              ///< no value
};
const char* one_point_status_name(OnePointStatus status);  ///< "one point", "lower bound", ...

struct OnePoint {
  std::string curve_id;
  Place place;           ///< of the (first) row
  std::size_t rows = 1;  ///< averaged
  double A = 0, Ci = 0, Tleaf = 0, Patm = 0;
  std::optional<double> Qin;
  Kinetics kinetics;  ///< at Tleaf and Patm
  OnePointStatus status = OnePointStatus::refused;
  std::optional<double> Vcmax, Vcmax25;  ///< umol m-2 s-1; empty where refused
  std::optional<double> Rday;            ///< umol m-2 s-1, used or implied
  /// dVcmax/dA: what an error of 1 umol m-2 s-1 in A does; large near Gamma*.
  std::optional<double> per_A;
  std::vector<std::string> why;  ///< reasons for the status, for people
};

/// Error of the method over leaves, as published.
struct OnePointError {
  double rmse = 0;  ///< umol m-2 s-1
  double r2 = 0;
  const char* when;  ///< "Rday known", "Rday = 1.5 % of Vcmax"
};
/// De Kauwe et al. 2016, abstract: 564 species, 46 sites. Empty for a fraction other than 0.015,
/// of which no error is published.
std::optional<OnePointError> published_error(const RdaySource& rday);

struct OnePointRun {
  std::vector<OnePoint> points;  ///< in the order of the file
  std::optional<OnePointError> error;
  Notes notes;
};

/// Ci (Pa) up to which Rubisco, and above which RuBP usually limits near 25 degC in saturating
/// light, serve as the rule (Sharkey et al. 2007, from memory; plausible.hpp): above 30 Pa a lower
/// bound, from 20 to 30 Pa or off 20..30 degC perhaps one.
/// Refused: Ci <= Gamma*, A + Rday <= 0, a fraction at or above (Ci - Gamma*)/(Ci + Km), no or a
/// negative Rday in the column, constants out of range; rows averaged whose Ci spreads by more
/// than 5 % of their mean. Errors: usage, without a kinetics set or with Rday to be fitted.
Result<OnePointRun> one_points(std::span<const Curve> curves, const OnePointOptions& options);

/// How the values were made, in sentences: equation, Rday, constants, rules, and the published
/// error as that of the method.
std::string one_point_methods(const OnePointOptions& options);

SettingTable one_point_settings();
/// Errors: usage, naming the setting and what it accepts.
Result<OnePointOptions> one_point_options(const Settings& settings);

}  // namespace leafwright
