#include "cli/rehearse_command.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "base/number.hpp"
#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "leaf/c4_kinetics.hpp"
#include "plan/rehearse_settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_source, of_leaf, of_chamber, of_record };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// "ramp.truth.json" for "ramp.csv".
std::string beside(const std::string& csv, const char* what) {
  const std::string stem = csv.ends_with(".csv") ? csv.substr(0, csv.size() - 4) : csv;
  return stem + what;
}

/// Options stand above the plan.
Result<RehearseSettings> settings_of(const Call& call) {
  RehearseSettings out{call.settings[of_source], call.settings[of_leaf], call.settings[of_chamber],
                       call.settings[of_record]};
  if (call.inputs.empty()) return out;
  const std::string& path = call.inputs.front();
  const auto bytes = read_input(path);
  if (!bytes) return fail(bytes.error());
  if (auto ok = read_plan(*bytes, input_name(path), out); !ok) return fail(ok.error());
  return out;
}

void add_record(const Simulation& simulation, const std::string& csv,
                std::vector<FileToWrite>& files) {
  files.push_back({csv, simulation_csv(simulation)});
  files.push_back({beside(csv, ".truth.json"), truth_json(simulation)});
  files.push_back({beside(csv, ".truth.csv"), truth_series_csv(simulation)});
}

std::string summary(const Simulation& s) {
  const auto shown = [](double value) { return print_rounded(value, 4); };
  return fmt::format(
      "{} rows over {} s\n"
      "lag of the sample record behind the reference: {} s\n"
      "time constant of the chamber: {} s\n",
      s.truth.time_s.size(), shown(s.truth.time_s.back()), shown(s.lags.difference),
      shown(s.lags.chamber));
}

/// Where everything goes. Errors: usage, refused.
Result<void> check_places(const Call& call, const std::vector<FileToWrite>& files) {
  std::map<std::string, int> places;
  for (const FileToWrite& file : files) {
    if (++places[file.path] > 1) {
      return fail(ErrorCode::usage, "two results at '" + file.path + "'", "one place for each");
    }
    Destinations to;
    to.csv = file.path;
    to.force = call.has("force");
    if (auto ok = check_destinations(to, call.inputs); !ok) return ok;
  }
  return {};
}

Exit run_rehearse(const Call& call, Console& console) {
  if (!call.has("out")) {
    return ended(console, {ErrorCode::usage, {}, "no --out given", "--out LOG.csv or --out -", ""});
  }
  const std::string out = call.value("out");
  if (out == "-" && (call.has("empty") || call.has("write-instrument") || call.has("json"))) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "--out - together with other files",
                           "a file for --out: the truth stands beside it",
                           ""});
  }
  const auto settings = settings_of(call);
  if (!settings) return ended(console, settings.error());
  auto leaf = simulator_settings(*settings);
  if (!leaf) return ended(console, leaf.error());
  const auto simulation = simulate(*leaf);
  if (!simulation) return ended(console, simulation.error());
  if (out == "-") {
    if (auto ok = console.print(simulation_csv(*simulation)); !ok) {
      return ended(console, ok.error());
    }
    return Exit::done;
  }
  std::vector<FileToWrite> files;
  add_record(*simulation, out, files);
  if (call.has("empty")) {
    SimulatorSettings empty = *leaf;
    empty.empty = true;
    empty.curve += " empty";
    const auto record = simulate(empty);
    if (!record) return ended(console, record.error());
    add_record(*record, call.value("empty"), files);
  }
  if (call.has("write-instrument")) {
    files.push_back({call.value("write-instrument"), rehearsed_instrument(*leaf)});
  }
  if (call.has("json") && call.value("json") != "-") {
    files.push_back({call.value("json"), truth_json(*simulation)});
  }
  if (auto ok = check_places(call, files); !ok) return ended(console, ok.error());
  if (auto ok = write_outputs(files, call.has("force"), console); !ok) {
    return ended(console, ok.error());
  }
  const std::string shown =
      call.value("json") == "-" ? truth_json(*simulation) : summary(*simulation);
  if (auto ok = console.print(shown); !ok) return ended(console, ok.error());
  return Exit::done;
}

std::vector<Glossary> glossaries() {
  Glossary c3{"kinetics sets", {}};
  for (const KineticsSet& set : kinetics_sets()) c3.entries.emplace_back(set.name, set.citation);
  Glossary c4{"kinetics sets of c4 leaves", {}};
  for (const C4KineticsSet& set : c4_kinetics_sets()) {
    c4.entries.emplace_back(set.name, set.citation);
  }
  return {c3, c4};
}

}  // namespace

Command rehearse_command() {
  return {.name = "rehearse",
          .summary = "a simulated log of a leaf, or of an empty chamber, with known truth",
          .example =
              "leafwright rehearse --rate 160 --vcmax 72 --seed 7 --out ramp.csv "
              "--empty empty.csv --write-instrument instrument.toml",
          .inputs = "[PLAN.toml]",
          .inputs_help =
              "settings by name, one a line, such as rate = 160; options stand above "
              "them. - reads standard input",
          .settings = {{"CO2 source", rehearse_source_settings()},
                       {"leaf", rehearse_leaf_settings()},
                       {"chamber and analysers", rehearse_chamber_settings()},
                       {"record", rehearse_record_settings()}},
          .options = {{"out", "CSV|-",
                       "the record; its truth stands beside it in CSV's name with .truth.json and "
                       ".truth.csv. With - the record goes to standard output, without its truth"},
                      {"empty", "CSV", "the same programme with the chamber empty, and its truth"},
                      {"write-instrument", "TOML", "the instrument that made the record"},
                      {"json", "FILE|-",
                       "the truth once more; with - on standard output instead of the summary"},
                      {"force", "", "replace files that are there already"}},
          .glossaries = glossaries(),
          .run = run_rehearse};
}

}  // namespace leafwright::cli
