#include "study/figures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "base/text.hpp"
#include "figure/aci_panel.hpp"
#include "figure/agree_figures.hpp"
#include "figure/contact_sheet.hpp"
#include "figure/response_panel.hpp"

namespace leafwright {
namespace {

constexpr std::size_t longest_name = 80;

bool is_plain(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '_' || c == '.';
}

/// Names that Windows keeps for devices, with or without an ending.
bool is_device(const std::string& lower) {
  static constexpr std::array<std::string_view, 4> fixed = {"con", "prn", "aux", "nul"};
  const std::string stem = lower.substr(0, lower.find('.'));
  if (std::find(fixed.begin(), fixed.end(), stem) != fixed.end()) return true;
  return stem.size() == 4 && (stem.starts_with("com") || stem.starts_with("lpt"));
}

std::string plain_name(const std::string& id) {
  std::string name;
  for (const char c : id.substr(0, longest_name)) name += is_plain(c) ? c : '_';
  while (!name.empty() && name.back() == '.') name.pop_back();
  if (name.empty()) name = "curve";
  if (name.front() == '.') name.front() = '_';
  const std::string lower = lower_case(name);
  if (is_device(lower) || lower.starts_with("contact-sheet")) name.insert(0, "curve-");
  return name;
}

}  // namespace

std::vector<std::string> figure_names(const std::vector<std::string>& curve_ids) {
  std::vector<std::string> names;
  std::set<std::string> taken;
  for (const std::string& id : curve_ids) {
    const std::string plain = plain_name(id);
    std::string name = plain;
    for (int n = 2; !taken.insert(lower_case(name)).second; ++n) {
      name = plain + "-" + std::to_string(n);
    }
    names.push_back(std::move(name));
  }
  return names;
}

Result<std::vector<FileToWrite>> draw_figures(const FitDocument& document, const Settings& settings,
                                              const std::string& folder) {
  const auto theme = find_theme(settings.text("theme"));
  if (!theme) return fail(theme.error());
  AciPanelOptions options;
  options.width_mm = settings.number("figure-width");
  options.theme = *theme;
  std::vector<std::string> ids;
  std::vector<SheetCurve> sheet;
  for (const CurveOutcome& outcome : outcomes(document)) {
    if (outcome.fit == nullptr && outcome.failed == nullptr) continue;
    ids.push_back(outcome.curve->curve_id);
    sheet.push_back({outcome.curve, outcome.fit, outcome.failed ? outcome.failed->why : ""});
  }
  const std::vector<std::string> names = figure_names(ids);
  std::vector<FileToWrite> files;
  if (sheet.empty()) return files;
  for (std::size_t i = 0; i < sheet.size(); ++i) {
    const Curve& curve = *sheet[i].curve;
    auto svg = sheet[i].fit != nullptr ? aci_panel(*sheet[i].fit, curve, options)
                                       : failed_panel({ids[i], sheet[i].why}, curve, options);
    if (!svg) return fail(svg.error());
    files.push_back({fmt::format("{}/{}.svg", folder, names[i]), std::move(*svg)});
  }
  auto pages = contact_sheet(sheet, {.theme = *theme});
  if (!pages) return fail(pages.error());
  for (std::size_t i = 0; i < pages->size(); ++i) {
    const std::string number = i == 0 ? "" : fmt::format("-{}", i + 1);
    files.push_back(
        {fmt::format("{}/contact-sheet{}.svg", folder, number), std::move((*pages)[i])});
  }
  return files;
}

Result<std::vector<FileToWrite>> draw_responses(const ResponseRun& run, const Settings& settings,
                                                const std::string& folder) {
  const auto theme = find_theme(settings.text("theme"));
  if (!theme) return fail(theme.error());
  ResponseFigureOptions options;
  options.width_mm = settings.number("figure-width");
  options.theme = *theme;
  std::vector<std::string> ids;
  for (const ResponseFit& fit : run.fits) {
    ids.push_back(fit.group.empty() ? fit.of : fit.group + "-" + fit.of);
  }
  const std::vector<std::string> names = figure_names(ids);
  std::vector<FileToWrite> files;
  for (std::size_t i = 0; i < names.size(); ++i) {
    auto svg = response_figure(run.fits[i], options);
    if (!svg) return fail(svg.error());
    files.push_back({fmt::format("{}/{}.svg", folder, names[i]), std::move(*svg)});
  }
  return files;
}

Result<std::vector<FileToWrite>> draw_agreement(const AgreeDocument& d, const Settings& settings,
                                                const std::string& folder) {
  const auto theme = find_theme(settings.text("theme"));
  if (!theme) return fail(theme.error());
  const AgreeFigureOptions options{settings.number("figure-width"), *theme};
  std::vector<FileToWrite> files;
  if (auto svg = ratio_figure(d.input, d.result, options)) {
    files.push_back({folder + "/ratios.svg", std::move(*svg)});
  }
  if (auto svg = difference_figure(d.input, d.result, d.rules, options)) {
    files.push_back({folder + "/difference.svg", std::move(*svg)});
  }
  std::vector<std::string> leaves;
  for (const LeafPair& pair : d.input.pairs) leaves.push_back("leaf-" + pair.leaf);
  const std::vector<std::string> names = figure_names(leaves);
  for (std::size_t i = 0; i < d.input.pairs.size(); ++i) {
    const LeafPair& pair = d.input.pairs[i];
    if (pair.curve[0].points.empty() && pair.curve[1].points.empty()) continue;
    auto svg = leaf_figure(d.input, d.result, i, options);
    if (!svg) return fail(svg.error());
    files.push_back({folder + "/" + names[i] + ".svg", std::move(*svg)});
  }
  return files;
}

}  // namespace leafwright
