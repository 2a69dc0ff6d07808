// How stomatal conductance changed while a curve was measured, and what that means for Ci.
//
// Ci of every row is computed from the gsw of that row: a curve measured while stomata move is as
// valid as one with steady stomata. What a change of gsw brings is an error of Ci where gsw itself
// is wrong (dCi = 1.6 A/gsw x dgsw/gsw) and patches of the leaf that close unlike others, which no
// row shows. docs/methods-stomata.md.
#pragma once

#include <optional>
#include <span>

#include "fit/fit.hpp"
#include "fit/stomata_result.hpp"
#include "log/curve.hpp"

namespace leafwright {

/// `steady`: |change| up to which gsw is called steady. Empty where fewer than three rows that the
/// fit used have gsw above 0. Time orders them where every row has it and it does not stand still.
std::optional<GswDrift> gsw_drift(const CurveFit& fit, const Curve& curve, double steady);

/// Fills CurveFit::gsw_drift of every fit, with a note (info) where gsw was not steady.
void find_gsw_drifts(CampaignFit& campaign, std::span<const Curve> curves, double steady);

}  // namespace leafwright
