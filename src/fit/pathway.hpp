// One door for every pathway: options from settings, and the fit they ask for. The command line,
// the study and the page come in here.
#pragma once

#include <span>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fit/c4.hpp"
#include "fit/fit.hpp"

namespace leafwright {

enum class Pathway { c3, c4 };
/// From the setting `pathway`. Errors: usage, where it is neither "c3" nor "c4".
Result<Pathway> find_pathway(const std::string& name);

using FitMethod = std::variant<C3FitOptions, C4FitOptions>;

/// Settings as they hold for the pathway: where the user gave none, `kinetics` and `at25` have the
/// C4 default instead of the C3 one, so that what is printed is what was used.
Settings settings_for(Pathway pathway, const Settings& settings);
/// Those defaults by name: empty for C3.
std::vector<std::pair<std::string, std::string>> pathway_defaults(Pathway pathway);

/// Errors: as fit_options and c4_fit_options.
Result<FitMethod> fit_method(Pathway pathway, const Settings& settings);

/// Fits all curves; see fit_curves. Values outside published ranges get notes (plausible.hpp).
CampaignFit fit_all(std::span<const Curve> curves, const FitMethod& method,
                    const Progress& progress = {}, const Cancel* cancel = nullptr);

}  // namespace leafwright
