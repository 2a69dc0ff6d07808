// All curves of one call, in two passes: solve each; estimate the correlation of residuals over
// all; then intervals and everything else. One that cannot be fitted stops nothing.
#pragma once

#include <fmt/format.h>

#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "base/progress.hpp"
#include "fit/correlation.hpp"
#include "fit/fit.hpp"

namespace leafwright {

/// What a campaign needs to know of its options.
struct CampaignRules {
  IntervalMethod intervals = IntervalMethod::profile;
  CorrelationSource correlation;
};

/// Tells how the widened intervals came about, or why there are none.
void note_correlation(CampaignFit& out, const CampaignRules& rules, std::size_t curves);

/// rho for the widened intervals, from the curves' designs or as given.
std::optional<double> campaign_correlation(const CampaignRules& rules,
                                           std::span<const CorrelationProfile> profiles);

/// `Fitter` has prepare(curve) -> Result<P>, P with a Design `design`, and
/// complete(curve, P&, rho) -> CurveFit.
template <class Fitter>
CampaignFit run_campaign(std::span<const Curve> curves, const Fitter& fitter,
                         const CampaignRules& rules, const Progress& progress,
                         const Cancel* cancel) {
  using Prepared = typename decltype(fitter.prepare(curves.front()))::value_type;
  CampaignFit out;
  std::vector<std::pair<const Curve*, Prepared>> ready;
  std::vector<CorrelationProfile> profiles;
  for (const Curve& curve : curves) {
    auto prepared = fitter.prepare(curve);
    if (!prepared) {
      out.failed.push_back({curve.curve_id, prepared.error().text()});
      continue;
    }
    if (auto profile = correlation_profile(prepared->design)) {
      profiles.push_back(std::move(*profile));
    }
    ready.emplace_back(&curve, std::move(*prepared));
  }
  out.correlation = campaign_correlation(rules, profiles);
  note_correlation(out, rules, ready.size());
  for (std::size_t i = 0; i < ready.size(); ++i) {
    if (cancel != nullptr && cancel->raised()) {
      out.notes.push_back({NoteLevel::warning, "interrupted",
                           fmt::format("stopped after {} of {} curves", i, ready.size())});
      break;
    }
    out.fits.push_back(fitter.complete(*ready[i].first, ready[i].second, out.correlation));
    report_progress(progress, static_cast<double>(i + 1) / static_cast<double>(ready.size()),
                    ready[i].first->curve_id);
  }
  return out;
}

}  // namespace leafwright
