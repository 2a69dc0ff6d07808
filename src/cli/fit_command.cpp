#include "cli/fit_command.hpp"

#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/fit_inputs.hpp"
#include "cli/outputs.hpp"
#include "cli/platform.hpp"
#include "fit/drift.hpp"
#include "fit/operating.hpp"
#include "fit/pathway.hpp"
#include "report/campaign_report.hpp"
#include "report/fit_csv.hpp"
#include "report/fit_json.hpp"
#include "report/fit_text.hpp"
#include "study/figures.hpp"
#include "study/sections.hpp"
#include "study/time_zone.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t {
  of_call,
  of_points,
  of_cut,
  of_screen,
  of_layout,
  of_fit,
  of_stomata,
  of_figures
};

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// The pathway has no default: a C4 leaf fitted as C3 gives numbers that mean nothing.
Result<void> check_pathway(const Settings& settings) {
  if (!settings.is_set("pathway")) {
    return fail(ErrorCode::usage, "no --pathway given", "--pathway c3 or --pathway c4",
                "there is no default: a C4 leaf fitted as C3 gives numbers without meaning");
  }
  return {};
}

std::vector<FileToWrite> result_files(const FitDocument& document, const Destinations& to) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, fit_csv(document)});
    files.push_back({meta_path(to.csv), fit_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, fit_json(document)});
  return files;
}

Result<void> publish(const FitDocument& document, const Destinations& to, const Settings& figures,
                     Console& console) {
  std::vector<FileToWrite> files = result_files(document, to);
  if (!to.report.empty()) {
    auto page = campaign_report(document);
    if (!page) return fail(page.error());
    files.push_back({to.report, std::move(*page)});
  }
  if (!to.figures.empty()) {
    auto drawn = draw_figures(document, figures, to.figures);
    if (!drawn) return fail(drawn.error());
    std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  }
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(fit_json(document));
  if (to.csv == "-") return console.print(fit_csv(document));
  return console.print(fit_text(document));
}

/// How the files become curves: columns, cutting, screening.
Result<PointsOptions> read_options(const Call& call) {
  const FitColumns named = fit_columns(call.settings[of_fit]);
  PointsOptions out = points_options(call.settings[of_points], named.rday, named.sd);
  const Settings& cutting = call.settings[of_cut];
  out.cut = cut_choice(cutting);
  out.time = time_choice(cutting);
  if (cutting.is_set("time-zone")) {
    auto rule = zone_rule(cutting.text("time-zone"));
    if (!rule) return fail(rule.error());
    out.time.zone = std::move(*rule);
    out.time.zone_name = cutting.text("time-zone");
  }
  if (const ScreenChoice screen = screen_choice(call.settings[of_screen]); screen.on) {
    out.screen = screen;
  }
  return out;
}

Exit run_fit(const Call& call, Console& console) {
  if (auto ok = check_pathway(call.settings[of_call]); !ok) return ended(console, ok.error());
  const auto pathway = find_pathway(call.settings[of_call].text("pathway"));
  if (!pathway) return ended(console, pathway.error());
  // What is printed as the settings is what holds for this pathway.
  std::vector<Settings> used = call.settings;
  used[of_fit] = settings_for(*pathway, call.settings[of_fit]);
  const auto method = fit_method(*pathway, used[of_fit]);
  if (!method) return ended(console, method.error());
  const auto operating = operating_choice(call.settings[of_stomata]);
  if (!operating) return ended(console, operating.error());
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());

  const auto points = read_options(call);
  if (!points) return ended(console, points.error());
  const auto layout = layout_choice(call.settings[of_layout]);
  const auto inputs = read_inputs(call.inputs, layout, *points, console);
  if (!inputs) return ended(console, inputs.error());

  if (inputs->curves.empty() && inputs->unread_curves.empty()) {
    return ended(console, Error{ErrorCode::unreadable,
                                {},
                                "there is no row to fit",
                                "rows of A and Ci",
                                "look at the file with 'leafwright look'"});
  }
  CampaignFit campaign = fit_all(inputs->curves, *method, console.progress());
  find_operating_points(campaign, inputs->curves, *operating);
  find_gsw_drifts(campaign, inputs->curves, call.settings[of_stomata].number("gsw-steady") / 100);
  for (const FailedCurve& failed : campaign.failed) {
    console.complain("leafwright: curve '" + failed.curve_id + "': " + failed.why);
  }

  FitDocument document;
  document.curves = inputs->curves;
  document.campaign = &campaign;
  for (const Settings& settings : used) document.settings.push_back(&settings);
  document.inputs = inputs->files;
  document.unread = inputs->unread;
  document.unread_curves = inputs->unread_curves;
  document.problems = inputs->problems;
  document.notes = inputs->notes;
  if (auto ok = publish(document, *to, call.settings[of_figures], console); !ok) {
    return ended(console, ok.error());
  }
  if (interrupted()) {
    console.complain("leafwright: interrupted; all files had been written");
    return Exit::interrupted;
  }
  const bool all =
      campaign.failed.empty() && inputs->unread.empty() && inputs->unread_curves.empty();
  return all ? Exit::done : Exit::partly;
}

std::vector<Glossary> glossaries() {
  Glossary kinetics{"kinetics sets", {}};
  for (const KineticsSet& set : kinetics_sets()) {
    kinetics.entries.emplace_back(std::string(set.name) + ", for " + carbon_at_name(set.carbon_at),
                                  set.citation);
  }
  Glossary responses{"response sets", {}};
  for (const ResponseSet& set : response_sets()) {
    responses.entries.emplace_back(set.name, set.citation);
  }
  for (const C4KineticsSet& set : c4_kinetics_sets()) {
    kinetics.entries.emplace_back(std::string(set.name) + ", for C4", set.citation);
  }
  for (const C4ResponseSet& set : c4_response_sets()) {
    responses.entries.emplace_back(std::string(set.name) + ", for C4", set.citation);
  }
  return {kinetics, responses};
}

}  // namespace

Command fit_command() {
  return {.name = "fit",
          .summary = "photosynthetic capacities from A-Ci points, one set of parameters a curve",
          .example = "leafwright fit points.csv --pathway c3 --out fits.csv --figures figures",
          .inputs = "POINTS...",
          .inputs_help =
              "delimited text or .xlsx with the columns A, Ci, Tleaf, Patm and curve_id; "
              "several files are one campaign; - reads standard input",
          .settings = {{"leaves", pathway_settings()},
                       {"rows", points_settings()},
                       {"curves", cut_settings()},
                       {"screening", screen_settings()},
                       {"layout of the files", layout_settings()},
                       {"fit", fit_settings()},
                       {"stomata", stomata_settings()},
                       {"figures", figure_settings()}},
          .options = {{"json", "FILE|-",
                       "everything as JSON; with - on standard output instead of the text"},
                      {"out", "CSV|-", "one row a curve, with settings and units in CSV.meta.json"},
                      {"figures", "DIR", "one SVG a curve, and contact-sheet.svg with all of them"},
                      {"report", "HTML",
                       "one page with everything: curves, parameters, settings, methods text"},
                      {"force", "", "replace files that are there already"}},
          .glossaries = glossaries(),
          .run = run_fit};
}

}  // namespace leafwright::cli
