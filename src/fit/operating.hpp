// The operating point of a fitted A-Ci curve (demand) under a stated CO2 outside the leaf, and how
// much the way in costs there.
//
//   supply        A = g (Ca - Ci), g = A/(Ca' - Ci) of the rows measured near Ca (Ca': CO2 of the
//                 air at the leaf in that row): stomata, boundary layer and the flow of vapour in
//                 one number
//   limitation    l = 1 - A(Ci)/A(Ci = Ca)         (Farquhar & Sharkey 1982)
//   relative      l = r/(r + r*), r = (Ca - Ci)/A, r* = dCi/dA of the demand curve at Ci
//                                                   (Jones 1985)
//   WUEi          A/gsw
//
// The first says what infinite conductance would add, the second which share of a small change
// belongs to the way in: they differ wherever the curve bends. Both are of the whole way from the
// air to Ci. Sources and standing: docs/methods-stomata.md.
#pragma once

#include <optional>
#include <span>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "fit/fit.hpp"
#include "fit/stomata_result.hpp"
#include "log/curve.hpp"

namespace leafwright {

struct OperatingChoice {
  std::optional<double> CO2;  ///< umol mol-1; empty: no operating point
  std::optional<double> Ci;   ///< umol mol-1; empty: from the rows
  double window = 0.1;        ///< rows with CO2 outside within this share of it are near
};

/// The settings `operating-co2`, `operating-ci`, `operating-window`; `gsw-steady` is of drift.hpp.
SettingTable stomata_settings();
/// Errors: usage, for a Ci without the CO2 outside, or not below it.
Result<OperatingChoice> operating_choice(const Settings& settings);

/// The operating point of one fit; `choice.CO2` must be there. Of the rows that the fit used, those
/// near it with A > 0 and Ci below the CO2 outside count. Rows without CO2s have the CO2 that gsw
/// implies, Ci + 1.6 A/gsw. At a bend of the curve, where dA/dCi left and right differ by more
/// than 1 %, and where A falls with Ci, there is no relative limitation. A that rests on a capacity
/// that the rows only bound, or do not identify, is not given, nor what follows from it.
OperatingPoint operating_point(const CurveFit& fit, const Curve& curve,
                               const OperatingChoice& choice);

/// Fills CurveFit::operating of every fit, with notes where A at the CO2 outside lies beyond the
/// rows, conductances of the rows disagree, or something is missing. Nothing where no CO2 is given.
void find_operating_points(CampaignFit& campaign, std::span<const Curve> curves,
                           const OperatingChoice& choice);

}  // namespace leafwright
