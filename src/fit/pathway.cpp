#include "fit/pathway.hpp"

#include <stdexcept>

#include "fit/plausible.hpp"

namespace leafwright {
Result<Pathway> find_pathway(const std::string& name) {
  if (name == "c3") return Pathway::c3;
  if (name == "c4") return Pathway::c4;
  return fail(ErrorCode::usage, "the pathway '" + name + "'", "c3 or c4");
}

std::vector<std::pair<std::string, std::string>> pathway_defaults(Pathway pathway) {
  if (pathway == Pathway::c3) return {};
  return {{"kinetics", "boyd-2015"}, {"at25", "boyd-2015"}};
}

Settings settings_for(Pathway pathway, const Settings& settings) {
  Settings out = settings;
  for (const auto& [name, value] : pathway_defaults(pathway)) {
    if (out.origin(name) != SettingOrigin::default_value) continue;
    if (!out.set(name, value, SettingOrigin::default_value)) {
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

namespace {

/// The empirical curve of the rows that the fit used.
void add_empirical(CampaignFit& campaign, EmpiricalForm form) {
  if (form == EmpiricalForm::none) return;
  for (CurveFit& fit : campaign.fits) {
    std::vector<double> C, A;
    for (const FittedRow& row : fit.rows) {
      C.push_back(row.Ci);
      A.push_back(row.A);
    }
    auto empirical = fit_empirical(C, A, form);
    if (empirical) {
      fit.notes.insert(fit.notes.end(), empirical->notes.begin(), empirical->notes.end());
      fit.empirical = std::move(*empirical);
    } else {
      fit.notes.push_back({NoteLevel::caution, "empirical-not-fitted",
                           "no empirical curve: " + empirical.error().text()});
    }
  }
}

}  // namespace

CampaignFit fit_all(std::span<const Curve> curves, const FitMethod& method,
                    const Progress& progress, const Cancel* cancel) {
  CampaignFit out;
  if (const auto* c3 = std::get_if<C3FitOptions>(&method)) {
    out = fit_curves(curves, *c3, progress, cancel);
    add_empirical(out, c3->empirical);
  } else {
    const auto& c4 = std::get<C4FitOptions>(method);
    out = fit_c4_curves(curves, c4, progress, cancel);
    add_empirical(out, c4.empirical);
  }
  for (CurveFit& fit : out.fits) flag_ranges(fit);
  return out;
}

}  // namespace leafwright
