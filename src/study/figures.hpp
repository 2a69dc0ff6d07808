// Figures of all curves as files.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "files/write.hpp"
#include "report/agree_report.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

/// File names (without ending) for curve ids: letters, digits, '-', '_' and '.' stay, the rest
/// becomes '_'. No two are equal, also on a disk that does not tell capitals apart; none is one
/// that an operating system keeps for itself, begins with a dot, or is that of a contact sheet.
std::vector<std::string> figure_names(const std::vector<std::string>& curve_ids);

/// One SVG a curve, failed ones too, and contact-sheet.svg (contact-sheet-2.svg, ... where one page
/// is not enough), in `folder`. `settings` holds figure-width and theme.
Result<std::vector<FileToWrite>> draw_figures(const FitDocument& document, const Settings& settings,
                                              const std::string& folder);

/// One SVG a response, GROUP-PARAMETER.svg, in `folder`. `settings` as above.
Result<std::vector<FileToWrite>> draw_responses(const ResponseRun& run, const Settings& settings,
                                                const std::string& folder);

/// ratios.svg, difference.svg and one leaf-NAME.svg a leaf, in `folder`; one that has nothing to
/// show is not drawn. `settings` as above.
Result<std::vector<FileToWrite>> draw_agreement(const AgreeDocument& document,
                                                const Settings& settings,
                                                const std::string& folder);

}  // namespace leafwright
