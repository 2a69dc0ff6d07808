#include "cli/response_command.hpp"

#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "files/xlsx.hpp"
#include "report/fit_document.hpp"
#include "report/response_report.hpp"
#include "report/sha256.hpp"
#include "study/figures.hpp"
#include "study/sections.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_response, of_layout, of_figures };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<void> publish(const ResponseDocument& document, const Destinations& to,
                     const Settings& figures, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, response_csv(*document.run)});
    files.push_back({meta_path(to.csv), response_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, response_json(document)});
  if (!to.figures.empty()) {
    auto drawn = draw_responses(*document.run, figures, to.figures);
    if (!drawn) return fail(drawn.error());
    std::move(drawn->begin(), drawn->end(), std::back_inserter(files));
  }
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(response_json(document));
  if (to.csv == "-") return console.print(response_csv(*document.run));
  return console.print(response_text(document));
}

Exit run_response(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  if (call.inputs.size() != 1) {
    return ended(console, {ErrorCode::usage, {}, "several tables", "one", ""});
  }
  const std::string& path = call.inputs.front();
  auto bytes = read_input(path);
  if (!bytes) return ended(console, bytes.error());
  ResponseDocument document;
  document.inputs.push_back({path, bytes->size(), sha256(*bytes)});
  const auto table =
      open_table(std::move(*bytes), input_name(path), layout_choice(call.settings[of_layout]));
  if (!table) return ended(console, table.error());
  const auto run = fit_responses(*table, call.settings[of_response]);
  if (!run) return ended(console, run.error());
  for (const FailedResponse& failed : run->failed) {
    console.complain("leafwright: " + (failed.group.empty() ? "" : failed.group + ": ") +
                     failed.of + ": " + failed.why);
  }
  document.run = &*run;
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  if (auto ok = publish(document, *to, call.settings[of_figures], console); !ok) {
    return ended(console, ok.error());
  }
  return run->failed.empty() ? Exit::done : Exit::partly;
}

}  // namespace

Command response_command() {
  return {
      .name = "response",
      .summary = "how values respond to temperature, light, or what drives stomata",
      .example = "leafwright response fits.csv --of temperature --parameter Vcmax --leaf leaf_id",
      .inputs = "TABLE",
      .inputs_help =
          "temperature: values at several Tleaf, such as the CSV of 'fit'; light: A and Qin; "
          "electrons: J and Qin, such as the CSV of 'fit'; "
          "stomata: gsw, A, CO2s and RHs or VPDleaf; - reads standard input",
      .settings = {{"response", response_settings()},
                   {"layout of the file", layout_settings()},
                   {"figures", figure_settings()}},
      .options = {{"json", "FILE|-",
                   "everything as JSON; with - on standard output instead of the text"},
                  {"out", "CSV|-", "one row an estimate, with settings in CSV.meta.json"},
                  {"figures", "DIR", "one SVG a response"},
                  {"force", "", "replace files that are there already"}},
      .run = run_response};
}

}  // namespace leafwright::cli
