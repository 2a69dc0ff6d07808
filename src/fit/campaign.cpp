#include "fit/campaign.hpp"

namespace leafwright {

std::optional<double> campaign_correlation(const CampaignRules& rules,
                                           std::span<const CorrelationProfile> profiles) {
  using From = CorrelationSource::From;
  if (rules.intervals != IntervalMethod::profile) return {};
  if (rules.correlation.from == From::given) return rules.correlation.value;
  if (rules.correlation.from == From::estimated) return estimate_correlation(profiles);
  return {};
}

void note_correlation(CampaignFit& out, const CampaignRules& rules, std::size_t curves) {
  if (rules.intervals != IntervalMethod::profile || curves == 0) return;
  using From = CorrelationSource::From;
  if (rules.correlation.from == From::estimated && !out.correlation) {
    out.notes.push_back({NoteLevel::info, "correlation-not-estimated",
                         fmt::format("intervals take residuals as independent: {} curve{} cannot "
                                     "tell their correlation (5 are needed, or --correlation "
                                     "VALUE)",
                                     curves, curves == 1 ? "" : "s")});
  } else if (out.correlation) {
    out.notes.push_back(
        {NoteLevel::info, "correlation",
         fmt::format(
             "widened intervals take neighbouring residuals as correlated by {:.2f} ({})",
             *out.correlation,
             rules.correlation.from == From::given ? "given" : "estimated over all curves")});
  }
}

}  // namespace leafwright
