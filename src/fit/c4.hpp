// Fits C4 A-Ci curves: Vpmax from the initial side, the plateau, Rday and the initial slope.
// Cm is taken as Ci (gm infinite). What sets the plateau is a statement of the user's, not a
// result: Vcmax, Vpr and J cannot be told apart on one curve at one light. The forms: c4_model.hpp.
#pragma once

#include <optional>
#include <span>

#include "fit/fit.hpp"
#include "leaf/c4_kinetics.hpp"

namespace leafwright {

struct C4FitOptions {
  const C4KineticsSet* kinetics = nullptr;  ///< required
  C4Overrides overrides;
  Basis basis = Basis::partial_pressure;
  C4Plateau plateau = C4Plateau::unnamed;
  RdaySource rday;
  double gbs = 0.003;       ///< mol m-2 s-1 bar-1
  double alpha = 0;         ///< share of O2 evolved in the bundle sheath
  double x = 0.4;           ///< share of electron transport for the C4 cycle
  double fcyc = 1.0 / 3.0;  ///< share of cyclic electron flow (1/3: the form of 2000)
  IntervalMethod intervals = IntervalMethod::profile;
  double level = 0.95;
  const C4ResponseSet* at25 = nullptr;  ///< null: no values at 25 degC
  CorrelationSource correlation;
  std::string sd_column;  ///< rows count by 1/sd^2 (CurveRow::sd); empty: alike
  bool budget = true;
  EmpiricalForm empirical = EmpiricalForm::none;  ///< beside the model (fit_all adds it)
};

/// Errors: unfit (rows, Rday, temperature), usage (no kinetics set, a fraction of a Vcmax that the
/// plateau is not).
Result<CurveFit> fit_c4_curve(const Curve& curve, const C4FitOptions& options,
                              std::optional<double> correlation = {});
CampaignFit fit_c4_curves(std::span<const Curve> curves, const C4FitOptions& options,
                          const Progress& progress = {}, const Cancel* cancel = nullptr);

/// Options from the settings of this room. Errors: usage, naming the setting; also for a setting
/// given by the user that a C4 fit does not have.
Result<C4FitOptions> c4_fit_options(const Settings& settings);

}  // namespace leafwright
