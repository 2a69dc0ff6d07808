#include "cli/agree_command.hpp"

#include "base/number.hpp"
#include "cli/agree_inputs.hpp"
#include "cli/console.hpp"
#include "cli/outputs.hpp"
#include "cli/platform.hpp"
#include "fit/fit.hpp"
#include "log/points.hpp"
#include "report/agree_report.hpp"
#include "stats/agreement_settings.hpp"
#include "study/agree_pairs.hpp"
#include "study/figures.hpp"
#include "study/sections.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<AgreementRules> rules_of(const Call& call) {
  auto rules = agreement_rules(call.settings[of_agree]);
  if (!rules) return rules;
  const Settings& fit = call.settings[of_fit];
  rules->level = fit.number("level");
  rules->seed = static_cast<std::uint64_t>(fit.whole("seed"));
  return rules;
}

Result<AgreeDocument> compared(const Call& call, Console& console) {
  const auto rules = rules_of(call);
  if (!rules) return fail(rules.error());
  auto inputs = read_agree_inputs(call, console);
  if (!inputs) return fail(inputs.error());
  auto result = analyse_agreement(inputs->input, *rules);
  if (!result) return fail(result.error());
  auto whole = compare_again(inputs->input, inputs->unmarked, *rules);
  if (!whole) return fail(whole.error());
  AgreeDocument document;
  document.input = std::move(inputs->input);
  document.rules = *rules;
  document.result = std::move(*result);
  document.without_exclusions = std::move(*whole);
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  document.inputs = std::move(inputs->files);
  document.not_compared = std::move(inputs->not_compared);
  document.rows_out = std::move(inputs->rows_out);
  document.problems = std::move(inputs->problems);
  document.notes = std::move(inputs->notes);
  return document;
}

Result<void> publish(const AgreeDocument& document, const Destinations& to,
                     const Settings& figure_choices, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, agree_csv(document)});
    files.push_back({meta_path(to.csv), agree_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, agree_json(document)});
  if (!to.figures.empty()) {
    auto drawn = draw_agreement(document, figure_choices, to.figures);
    if (!drawn) return fail(drawn.error());
    std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  }
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(agree_json(document));
  if (to.csv == "-") return console.print(agree_csv(document));
  return console.print(agree_text(document));
}

Exit run_agree(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  const auto document = compared(call, console);
  if (!document) return ended(console, document.error());
  for (const std::string& why : document->not_compared) {
    console.complain("leafwright: not compared: " + why);
  }
  if (auto ok = publish(*document, *to, call.settings[of_figures], console); !ok)
    return ended(console, ok.error());
  if (interrupted()) {
    console.complain("leafwright: interrupted; all files had been written");
    return Exit::interrupted;
  }
  bool all = document->not_compared.empty();
  for (const LeafPair& pair : document->input.pairs) {
    all = all && pair.curve[0].failed.empty() && pair.curve[1].failed.empty();
  }
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command agree_command() {
  return {
      .name = "agree",
      .summary = "do two methods measured on the same leaves agree?",
      .example = "leafwright agree ramp.csv steady.csv --pathway c3 --plant plant_id --margin 10%",
      .inputs = "FILE...",
      .inputs_help =
          "two files, one a method, or one with --method COLUMN: tables of points (A, Ci, "
          "Tleaf, Patm, curve_id and the leaf), which are fitted here, or what 'leafwright "
          "fit' wrote with --json (parameters and rows) or --out (parameters only)",
      .settings = {{"comparison", agreement_settings()},
                   {"leaves", pathway_settings()},
                   {"curves", points_settings()},
                   {"layout of the files", layout_settings()},
                   {"fit", fit_settings()},
                   {"figures", figure_settings()}},
      .options = {{"samples", "TABLE",
                   "a table of curve_id and the columns of --leaf, --plant, --method and "
                   "--order, where the files themselves do not hold them"},
                  {"json", "FILE|-",
                   "everything as JSON; with - on standard output instead of the text"},
                  {"out", "CSV|-",
                   "one row a leaf and parameter, with settings and units in CSV.meta.json"},
                  {"figures", "DIR",
                   "ratios.svg, difference.svg, and one SVG a leaf with both curves"},
                  {"force", "", "replace files that are there already"}},
      .run = run_agree};
}

}  // namespace leafwright::cli
