#include "cli/path_command.hpp"

#include "cli/console.hpp"
#include "cli/outputs.hpp"
#include "cli/record_inputs.hpp"
#include "figure/path_panel.hpp"
#include "ramp/empty_dates.hpp"
#include "ramp/same_air.hpp"
#include "ramp/settings.hpp"
#include "report/path_report.hpp"
#include "study/figures.hpp"
#include "study/sections.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_records, of_layout, of_path, of_same_air, of_advice, of_figures };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<std::vector<FileToWrite>> draw(const GasPath& path, const MatchingAdvice& advice,
                                      const Settings& figures, const std::string& folder) {
  const auto theme = find_theme(figures.text("theme"));
  if (!theme) return fail(theme.error());
  std::vector<std::string> names;
  for (const PathTrace& trace : path.traces) names.push_back(trace.record);
  names = figure_names(names);
  std::vector<FileToWrite> files;
  for (std::size_t i = 0; i < path.traces.size(); ++i) {
    auto svg =
        path_panel(path, i, path_verdict(path, advice), {figures.number("figure-width"), *theme});
    if (!svg) return fail(svg.error());
    files.push_back({folder + "/" + names[i] + ".svg", std::move(*svg)});
  }
  return files;
}

Result<void> publish(const PathDocument& document, const Destinations& to, const Settings& figures,
                     Console& console) {
  std::vector<FileToWrite> files;
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, path_json(document)});
  if (!to.figures.empty()) {
    auto drawn = draw(*document.path, *document.advice, figures, to.figures);
    if (!drawn) return fail(drawn.error());
    std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  }
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  return console.print(to.json == "-" ? path_json(document) : path_text(document));
}

/// Records of --same-air beside the path, told among its notes. The files that were read.
Result<std::vector<InputFile>> hold_against_same_air(const Call& call, const RecordChoice& choice,
                                                     GasPath& path, Console& console) {
  const auto& files = call.settings[of_same_air].list("same-air");
  if (files.empty()) return std::vector<InputFile>();
  const auto levels = read_records(files, choice, RecordRole::empty, console);
  if (!levels) return fail(levels.error());
  const Notes notes = compare_same_air(path, levels->records);
  path.notes.insert(path.notes.end(), notes.begin(), notes.end());
  return levels->files;
}

Exit run_path(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  std::vector<std::string> read = call.inputs;
  for (const char* option : {"map", "instrument"}) {
    if (call.has(option)) read.push_back(call.value(option));
  }
  for (const std::string& file : call.settings[of_same_air].list("same-air")) read.push_back(file);
  if (auto ok = check_destinations(*to, read); !ok) return ended(console, ok.error());
  const auto wanted = advice_options(call.settings[of_advice]);
  if (!wanted) return ended(console, wanted.error());
  const RecordChoice choice =
      record_choice(call.settings[of_records], layout_choice(call.settings[of_layout]),
                    call.value("map"), call.value("instrument"));
  const auto inputs = read_records(call.inputs, choice, RecordRole::empty, console);
  if (!inputs) return ended(console, inputs.error());
  const IdentifyOptions how = identify_options(call.settings[of_path]);
  auto path = identify(inputs->records, how);
  if (!path) return ended(console, path.error());
  const std::vector<OffsetChange> changes = offset_changes(inputs->records, how, path->notes);
  const auto files = hold_against_same_air(call, choice, *path, console);
  if (!files) return ended(console, files.error());
  const MatchingAdvice advice = advise(*path, inputs->instrument, *wanted);

  PathDocument document{&*path,           &advice, &inputs->instrument, {}, inputs->files,
                        inputs->problems, changes};
  document.inputs.insert(document.inputs.end(), files->begin(), files->end());
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  if (auto ok = publish(document, *to, call.settings[of_figures], console); !ok) {
    return ended(console, ok.error());
  }
  return path->lag_s ? Exit::done : Exit::partly;
}

}  // namespace

Command path_command() {
  return {
      .name = "path",
      .summary =
          "the gas path from records of the empty chamber: lag, dead time and mixing, offsets, "
          "and how to make both paths equally late",
      .example = "leafwright path empty.csv --instrument instrument.toml --json path.json",
      .inputs = "EMPTY...",
      .inputs_help =
          "records of the empty chamber with CO2r, CO2s and time, with holds of 20 s at both "
          "ends; several are fitted together, several flows show the null flow; - reads "
          "standard input",
      .settings = {{"records", record_settings()},
                   {"layout of the files", layout_settings()},
                   {"gas path", path_settings()},
                   {"the same air in both cells", same_air_settings()},
                   {"advice", advice_settings()},
                   {"figures", figure_settings()}},
      .options = {{"instrument", "TOML",
                   "volumes, cell flow and timing of channels; docs/formats/instruments.md"},
                  {"map", "TOML", "columns with other titles; docs/formats/maps.md"},
                  {"json", "FILE|-",
                   "everything as JSON, which --path of 'ramp' reads; with - on standard output "
                   "instead of the text"},
                  {"figures", "DIR", "one SVG a record"},
                  {"force", "", "replace files that are there already"}},
      .run = run_path};
}

}  // namespace leafwright::cli
