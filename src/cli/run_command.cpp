#include "cli/run_command.hpp"

#include <array>
#include <filesystem>

#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "cli/platform.hpp"
#include "report/fit_json.hpp"
#include "study/outputs.hpp"
#include "study/run.hpp"

namespace leafwright::cli {
namespace fs = std::filesystem;
namespace {

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// Where the results go: --out, else `results` beside the study file.
std::string folder_of(const Call& call) {
  if (call.has("out")) return call.value("out");
  return (fs::path(call.inputs.front()).parent_path() / "results").generic_string();
}

/// Looks before the work starts: a folder with files in it is not written into without --force.
Result<void> check_folder(const std::string& folder, bool force) {
  std::error_code ignored;
  if (!fs::exists(folder, ignored)) return {};
  if (!fs::is_directory(folder, ignored)) {
    return fail(ErrorCode::refused, "'" + folder + "' is a file", "a folder for the results");
  }
  if (!force && !fs::is_empty(folder, ignored)) {
    return fail(ErrorCode::refused, "the folder '" + folder + "' is not empty", "",
                "give another one with --out, or --force to replace results in it");
  }
  return {};
}

/// No result may stand where an input stands, not even with --force.
Result<void> check_inputs(const StudyRun& run, const std::vector<FileToWrite>& files) {
  std::error_code ignored;
  for (const FileToWrite& file : files) {
    for (const InputFile& input : run.inputs) {
      if (!fs::equivalent(file.path, input.path, ignored)) continue;
      return fail(ErrorCode::refused, "'" + file.path + "' is an input of the study",
                  "another folder for the results",
                  "inputs are never replaced, not even with --force");
    }
  }
  return {};
}

Result<void> publish(const StudyRun& run, const std::string& folder, const Call& call,
                     Console& console) {
  const bool force = call.has("force");
  const std::string json = call.value("json");
  auto files = study_outputs(run, folder);
  if (!files) return fail(files.error());
  if (!json.empty() && json != "-") files->push_back({json, fit_json(run.document())});
  if (auto ok = check_inputs(run, *files); !ok) return ok;
  if (auto ok = write_outputs(*files, force, console); !ok) return ok;
  if (json == "-") return console.print(fit_json(run.document()));
  return console.print(study_text(run) + "\nLook at " + folder + "/report.html\n");
}

Exit run_run(const Call& call, Console& console) {
  if (call.inputs.size() > 1) {
    return ended(console, {ErrorCode::usage, {}, "two studies", "one STUDY.toml", ""});
  }
  const std::string& file = call.inputs.front();
  const std::string folder = folder_of(call);
  if (auto ok = check_folder(folder, call.has("force")); !ok) return ended(console, ok.error());
  const auto bytes = read_input(file);
  if (!bytes) return ended(console, bytes.error());
  RunOptions options;
  options.threads = static_cast<unsigned>(call.settings.front().whole("threads"));
  options.progress = console.progress();
  const auto run = run_study(*bytes, input_name(file), options);
  if (!run) return ended(console, run.error());
  for (const std::string& line : (*run)->complaints) console.complain(line);
  if (auto ok = publish(**run, folder, call, console); !ok) {
    return ended(console, ok.error());
  }
  if (interrupted()) {
    console.complain("leafwright: interrupted; all files had been written");
    return Exit::interrupted;
  }
  return (*run)->whole() ? Exit::done : Exit::partly;
}

SettingTable run_settings() {
  static const std::array<Setting, 1> settings{{
      {.name = "threads",
       .kind = SettingKind::whole,
       .default_value = "0",
       .low = 0,
       .high = 1024,
       .help = "threads that read logs and draw figures; 0: as many as the machine has. Results do "
               "not depend on it",
       .source = "no number depends on it"},
  }};
  return settings;
}

}  // namespace

Command run_command() {
  return {.name = "run",
          .summary = "a whole study: its logs become points, fits, figures and a report",
          .example = "leafwright run demo/study.toml --out results",
          .inputs = "STUDY",
          .inputs_help =
              "a study file (TOML): the logs, the samples table and every setting; "
              "paths in it count from its folder",
          .settings = {{"work", run_settings()}},
          .options = {{"out", "DIR",
                       "folder of the results: points.csv, fits.csv, fits.json, figures, "
                       "report.html; without it 'results' beside the study file"},
                      {"json", "FILE|-",
                       "the fits as JSON; with - on standard output instead of the text"},
                      {"force", "", "replace results that are there already"}},
          .run = run_run};
}

}  // namespace leafwright::cli
