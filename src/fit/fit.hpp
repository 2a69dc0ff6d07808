// Fits C3 A-Ci curves: the exact solution, intervals, which limitations, and what the data do not
// tell. This is the front door of the room; exact.hpp is the solver behind it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "base/progress.hpp"
#include "base/setting.hpp"
#include "fit/problem.hpp"
#include "fit/result.hpp"
#include "leaf/response.hpp"
#include "log/curve.hpp"

namespace leafwright {

enum class IntervalMethod { profile, bootstrap, none };

/// Where the number for Rday comes from. Positive = respiration, umol m-2 s-1 at leaf temperature.
struct RdaySource {
  enum class From { fitted, value, column, fraction, dark, dark_column } from = From::fitted;
  double value = 0;       ///< umol m-2 s-1 (value, dark) or fraction of Vcmax (fraction)
  double inhibition = 0;  ///< share of dark respiration that light stops (dark, dark_column)
  std::optional<double> dark_temperature = {};  ///< degC, where it was measured; empty: at Tleaf
  std::optional<Response> response = {};        ///< moves it from there to Tleaf
  std::string response_name = {};
};

/// From J to Jmax: what the user says of the leaf and of its light.
struct LightUse {
  double absorptance = 0;  ///< of the leaf, for the light of Qin
  double loss = 0;         ///< share of absorbed light that drives no electrons
  double curvature = 0;    ///< theta of electron_transport, 0..1
};

/// How the correlation of neighbouring residuals (AR(1), in order of Ci) is taken for the widened
/// intervals.
struct CorrelationSource {
  enum class From {
    estimated,  ///< one value over all curves, by matching the mean lag-1 correlation
    given,
    none,  ///< no widened intervals
  } from = From::estimated;
  double value = 0;
};

struct C3FitOptions {
  const KineticsSet* kinetics = nullptr;  ///< required
  KineticOverrides overrides;
  Basis basis = Basis::partial_pressure;
  Electrons electrons;
  double alpha = 0;                          ///< fraction of glycolate carbon not returned, 0..1
  std::optional<LimitationSet> limitations;  ///< empty: the F-test rule decides about TPU
  RdaySource rday;
  bool gm_free = false;                 ///< gm is fitted, with its profile
  std::optional<double> gm;             ///< held, mol m-2 s-1; empty and not free: infinite
  std::optional<Response> gm_response;  ///< then gm is that at 25 degC (gm_response.hpp)
  std::optional<double> theta;          ///< curvature of a smooth minimum; empty: sharp
  std::size_t min_points = 1;
  IntervalMethod intervals = IntervalMethod::profile;
  double level = 0.95;
  const ResponseSet* at25 = nullptr;  ///< null: no values at 25 degC
  bool tleaf_per_row = false;  ///< kinetics at each row's own Tleaf (capacities stay per curve)
  CorrelationSource correlation;
  std::optional<LightUse> light;  ///< empty: no Jmax
  std::string sd_column;          ///< rows count by 1/sd^2 (CurveRow::sd); empty: alike
  std::optional<double> huber;    ///< k of Huber's loss; empty: squared loss
  std::size_t replicates = 2000;  ///< bootstrap
  std::uint64_t seed = 1;
  bool budget = true;  ///< also refit under the perturbations of the budget
  EmpiricalForm empirical = EmpiricalForm::none;  ///< beside the model (fit_all adds it)
};

/// Columns of the points that the fit's settings name: rday of `--rday column:NAME` and
/// `dark:column:NAME`, sd of
/// `--sd-column NAME`. The reader of the points must bring them.
struct FitColumns {
  std::optional<std::string> rday, sd;
};
FitColumns fit_columns(const Settings& settings);

/// All curves of one call.
struct CampaignFit {
  std::vector<CurveFit> fits;
  std::vector<FailedCurve> failed;
  std::optional<double> correlation;  ///< rho behind the widened intervals
  Notes notes;                        ///< about the campaign as a whole
};

/// Fits one curve. `correlation` is the rho for widened intervals, if any. Errors: unfit (too few
/// distinct Ci, constants out of range, ...), usage (no kinetics set).
Result<CurveFit> fit_curve(const Curve& curve, const C3FitOptions& options,
                           std::optional<double> correlation = {});

/// Fits all curves, in order; one that cannot be fitted is named in `failed` and stops nothing.
/// Progress is told after each curve; a cancelled run returns what is done, with a note.
CampaignFit fit_curves(std::span<const Curve> curves, const C3FitOptions& options,
                       const Progress& progress = {}, const Cancel* cancel = nullptr);

/// The settings of this room (docs/settings.md is made from it).
SettingTable fit_settings();

/// Options from settings. Errors: usage, naming the setting and what it accepts; refused, for a
/// combination that would give wrong numbers (a Ci kinetics set with finite gm).
Result<C3FitOptions> fit_options(const Settings& settings);

}  // namespace leafwright
