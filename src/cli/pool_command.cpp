#include "cli/pool_command.hpp"

#include <array>

#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "files/xlsx.hpp"
#include "log/select.hpp"
#include "report/pool_report.hpp"
#include "report/sha256.hpp"
#include "study/pool_table.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_pool, of_rows, of_layout };

SettingTable row_settings() {
  static const std::array<Setting, 1> settings{only_setting()};
  return settings;
}

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<void> publish(const PoolDocument& document, const Destinations& to, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, pool_csv(document)});
    files.push_back({meta_path(to.csv), pool_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, pool_json(document)});
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(pool_json(document));
  if (to.csv == "-") return console.print(pool_csv(document));
  return console.print(pool_text(document));
}

Result<Table> read(const std::string& path, const LayoutChoice& layout, PoolDocument& document) {
  auto bytes = read_input(path);
  if (!bytes) return fail(bytes.error());
  document.inputs.push_back({path, bytes->size(), sha256(*bytes)});
  return open_table(std::move(*bytes), input_name(path), layout);
}

Exit run_pool(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  if (call.inputs.size() != 1) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "several tables",
                           "one",
                           "leaves of several tables are pooled from one table of all"});
  }
  PoolDocument document;
  const auto table = read(call.inputs.front(), layout_choice(call.settings[of_layout]), document);
  if (!table) return ended(console, table.error());
  std::optional<Table> samples;
  if (call.has("samples")) {
    auto read_samples = read(call.value("samples"), {}, document);
    if (!read_samples) return ended(console, read_samples.error());
    samples = std::move(*read_samples);
  }
  const auto run = pool_fits(*table, samples ? &*samples : nullptr, call.settings[of_pool],
                             call.settings[of_rows].list("only"));
  if (!run) return ended(console, run.error());
  for (const FailedPool& failed : run->failed) {
    console.complain("leafwright: " + (failed.group.empty() ? "" : failed.group + ": ") +
                     failed.symbol + ": " + failed.why);
  }
  document.run = &*run;
  document.level = call.settings[of_pool].number("level");
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  if (auto ok = publish(document, *to, console); !ok) return ended(console, ok.error());
  return run->failed.empty() ? Exit::done : Exit::partly;
}

}  // namespace

Command pool_command() {
  return {.name = "pool",
          .summary = "means of groups of leaves from their fits, with what is left out counted",
          .example = "leafwright pool fits.csv --group treatment --plant plant_id",
          .inputs = "FITS",
          .inputs_help = "the CSV of 'fit' or of a study; - reads standard input",
          .settings = {{"means", pool_settings()},
                       {"rows", row_settings()},
                       {"layout of the file", layout_settings()}},
          .options = {{"samples", "FILE",
                       "table of curve_id with the columns of group and plant, where the fits have "
                       "none"},
                      {"json", "FILE|-",
                       "everything as JSON; with - on standard output instead of the text"},
                      {"out", "CSV|-", "one row a value, with settings in CSV.meta.json"},
                      {"force", "", "replace files that are there already"}},
          .run = run_pool};
}

}  // namespace leafwright::cli
