#include "fit/gm.hpp"

namespace leafwright {

bool is_numeric(const C3FitOptions& options) {
  return options.gm_free || options.gm || options.theta;
}

Result<CurveFit> fit_numeric_c3_curve(const Curve&, const C3FitOptions&, std::optional<double>) {
  return fail(ErrorCode::refused, "finite gm or a smooth minimum", "neither, for now");
}

CampaignFit fit_numeric_c3(std::span<const Curve> curves, const C3FitOptions&, const Progress&,
                           const Cancel*) {
  CampaignFit out;
  for (const Curve& c : curves) out.failed.push_back({c.curve_id, "not yet"});
  return out;
}

}  // namespace leafwright
