#include "fit/pathway.hpp"

#include <stdexcept>

namespace leafwright {
namespace {

constexpr const char* c4_default_set = "boyd-2015";

}  // namespace

Settings settings_for(Pathway pathway, const Settings& settings) {
  Settings out = settings;
  if (pathway == Pathway::c3) return out;
  for (const char* name : {"kinetics", "at25"}) {
    if (out.origin(name) != SettingOrigin::default_value) continue;
    if (!out.set(name, c4_default_set, SettingOrigin::default_value)) {
      throw std::logic_error("the C4 defaults are no settings of the fit");
    }
  }
  return out;
}

Result<FitMethod> fit_method(Pathway pathway, const Settings& settings) {
  if (pathway == Pathway::c3) {
    auto options = fit_options(settings);
    if (!options) return fail(options.error());
    return FitMethod(*options);
  }
  auto options = c4_fit_options(settings_for(pathway, settings));
  if (!options) return fail(options.error());
  return FitMethod(*options);
}

CampaignFit fit_all(std::span<const Curve> curves, const FitMethod& method,
                    const Progress& progress, const Cancel* cancel) {
  if (const auto* c3 = std::get_if<C3FitOptions>(&method)) {
    return fit_curves(curves, *c3, progress, cancel);
  }
  return fit_c4_curves(curves, std::get<C4FitOptions>(method), progress, cancel);
}

}  // namespace leafwright
