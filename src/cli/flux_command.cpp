#include "cli/flux_command.hpp"

#include <memory>
#include <optional>

#include "air/settings.hpp"
#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "cli/platform.hpp"
#include "files/xlsx.hpp"
#include "log/flux.hpp"
#include "log/flux_csv.hpp"
#include "log/plateau_flux.hpp"
#include "log/points.hpp"
#include "log/select.hpp"
#include "report/flux_report.hpp"
#include "report/sha256.hpp"
#include "study/time_zone.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_points, of_cut, of_flux, of_cells, of_steps, of_screen, of_layout };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// Everything that a call reads. Other parts point into it: it stays where it is.
struct FluxWork {
  std::vector<InputFile> files;
  std::optional<Log> log;
  TimeAxis axis;
  Cut cut;
  std::optional<Samples> samples;
  std::optional<Instrument> instrument;
  Equalisations cells;
  std::string plateaus;  ///< the table of --plateaus
  Notes notes;
  std::vector<std::string> problems;

  [[nodiscard]] FluxSource source() const {
    return {&*log, &axis, &cut, samples ? &*samples : nullptr, instrument ? &*instrument : nullptr,
            &cells};
  }
};

Result<std::string> read(const std::string& path, FluxWork& work) {
  auto bytes = read_input(path);
  if (bytes) work.files.push_back({input_name(path), bytes->size(), sha256(*bytes)});
  return bytes;
}

void tell(const std::vector<Error>& problems, FluxWork& work, Console& console) {
  for (const Error& problem : problems) {
    console.complain(problem);
    work.problems.push_back(problem.text());
  }
}

void add(const Notes& notes, FluxWork& work) {
  work.notes.insert(work.notes.end(), notes.begin(), notes.end());
}

/// One note for all columns without a unit: one each would hide the rest.
Notes without_units_apart(const Notes& notes) {
  Notes out;
  std::vector<std::string> assumed;
  for (const Note& note : notes) {
    if (note.about != "unit-assumed") {
      out.push_back(note);
    } else {
      assumed.push_back(note.text.substr(0, note.text.find(':')));
    }
  }
  if (!assumed.empty()) {
    out.push_back({NoteLevel::info, "units-assumed",
                   "no unit is stated; those of the open reporting format were assumed for " +
                       join(assumed)});
  }
  return out;
}

/// What an option forces stands above the map.
LayoutChoice layout_of(const Call& call, const ColumnMap& map) {
  LayoutChoice out = map.layout;
  const LayoutChoice forced = layout_choice(call.settings[of_layout]);
  if (map.sheet) out.sheet = map.sheet;
  if (forced.sheet) out.sheet = forced.sheet;
  if (forced.encoding) out.encoding = forced.encoding;
  if (forced.delimiter) out.delimiter = forced.delimiter;
  if (forced.decimal) out.decimal = forced.decimal;
  if (forced.header_line) out.header_line = forced.header_line;
  if (forced.units_line) out.units_line = forced.units_line;
  return out;
}

Result<void> read_log_of(const Call& call, FluxWork& work, Console& console) {
  ColumnMap map;
  if (call.has("map")) {
    const auto bytes = read(call.value("map"), work);
    if (!bytes) return fail(bytes.error());
    auto parsed = read_map(*bytes, call.value("map"));
    if (!parsed) return fail(parsed.error());
    map = std::move(*parsed);
  }
  auto bytes = read(call.inputs.front(), work);
  if (!bytes) return fail(bytes.error());
  auto table = open_table(std::move(*bytes), input_name(call.inputs.front()), layout_of(call, map));
  if (!table) return fail(table.error());
  tell(table->problems(), work, console);
  add(table->notes(), work);
  if (table->rows() == 0) {
    return fail(ErrorCode::unreadable, input_name(call.inputs.front()) + " has no rows",
                "at least one row of numbers");
  }
  auto log = read_log(std::make_shared<const Table>(std::move(*table)), map);
  if (!log) return fail(log.error());
  work.log = std::move(*log);
  tell(work.log->problems(), work, console);
  add(without_units_apart(work.log->notes()), work);
  return {};
}

Result<void> read_others(const Call& call, FluxWork& work, Console& console) {
  if (call.has("instrument")) {
    const auto bytes = read(call.value("instrument"), work);
    if (!bytes) return fail(bytes.error());
    auto instrument = read_instrument(*bytes, call.value("instrument"));
    if (!instrument) return fail(instrument.error());
    work.instrument = std::move(*instrument);
  }
  if (!call.has("samples")) return {};
  auto bytes = read(call.value("samples"), work);
  if (!bytes) return fail(bytes.error());
  const auto table = open_table(std::move(*bytes), call.value("samples"));
  if (!table) return fail(table.error());
  tell(table->problems(), work, console);
  auto samples = read_samples(*table);
  if (!samples) return fail(samples.error());
  work.samples = std::move(*samples);
  add(work.samples->notes, work);
  return {};
}

Result<void> cut(const Call& call, FluxWork& work, Console& console) {
  const Settings& cutting = call.settings[of_cut];
  TimeChoice time = time_choice(cutting);
  if (cutting.is_set("time-zone")) {
    auto rule = zone_rule(cutting.text("time-zone"));
    if (!rule) return fail(rule.error());
    time.zone = std::move(*rule);
    time.zone_name = cutting.text("time-zone");
  }
  auto axis = time_axis(*work.log, time);
  if (!axis) return fail(axis.error());
  work.axis = std::move(*axis);
  tell(work.axis.problems, work, console);
  add(work.axis.notes, work);
  const PointsOptions points = points_options(call.settings[of_points]);
  auto curves = cut_log(*work.log, work.axis, work.samples ? &*work.samples : nullptr,
                        cut_choice(cutting, points.curve_column), time);
  if (!curves) return fail(curves.error());
  work.cut = std::move(*curves);
  add(work.cut.notes, work);
  for (const CutCurve& curve : work.cut.curves) add(curve.notes, work);
  if (work.samples) add(join_notes(work.cut, *work.samples, work.log->table().file()), work);
  auto cells =
      find_equalisations(*work.log, work.axis, equalise_choice(call.settings[of_cells]), time);
  if (!cells) return fail(cells.error());
  work.cells = std::move(*cells);
  add(work.cells.notes, work);
  return {};
}

/// The plateaus as a log of their own, taken through the same steps.
Result<void> average(const Call& call, const FluxSource& source, const FluxChoice& choice,
                     const FluxRows& rows, FluxWork& work) {
  const auto plateaus = plateau_flux(source, rows, choice, step_choice(call.settings[of_steps]),
                                     screen_choice(call.settings[of_screen]));
  if (!plateaus) return fail(plateaus.error());
  auto points = flux_table((*plateaus)->source(), (*plateaus)->rows);
  if (!points) return fail(points.error());
  work.plateaus = std::move(points->csv);
  add((*plateaus)->notes, work);
  return {};
}

Result<FluxRows> compute(const Call& call, FluxWork& work, Console& console) {
  const FluxSource source = work.source();
  const FluxChoice choice = flux_choice(call.settings[of_flux], call.settings[of_points]);
  auto rows = flux_rows(source, choice, console.progress());
  if (!rows) return rows;
  const auto& only = call.settings[of_points].list("only");
  if (!only.empty()) {
    const auto chosen = select_rows(work.log->table(), only);
    if (!chosen) return fail(chosen.error());
    std::vector<char> kept(rows->size(), 0);
    for (const std::size_t row : *chosen) kept[row] = 1;
    for (std::size_t row = 0; row < kept.size(); ++row) {
      if (kept[row] == 0) rows->leave_out(row, "left out by --only");
    }
  }
  if (call.has("plateaus")) {
    if (auto ok = average(call, source, choice, *rows, work); !ok) return fail(ok.error());
  }
  screen_flux(source, screen_choice(call.settings[of_screen]), *rows);
  tell(rows->problems, work, console);
  add(rows->notes, work);
  return rows;
}

/// Files and standard output. The table is made only where it is wanted.
Result<void> publish(const Call& call, const FluxWork& work, const FluxRows& rows,
                     const Destinations& to, Console& console) {
  FluxDocument document{work.source(), &rows, {}, {}, work.files, work.notes, work.problems};
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  std::vector<FileToWrite> files;
  FluxTable table;
  if (!to.csv.empty()) {
    auto made = flux_table(document.source, rows);
    if (!made) return fail(made.error());
    table = std::move(*made);
    document.columns = table.columns;
  }
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, std::move(table.csv)});
    files.push_back({meta_path(to.csv), flux_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, flux_json(document)});
  if (call.has("plateaus")) {
    files.push_back({call.value("plateaus"), work.plateaus});
    files.push_back({meta_path(call.value("plateaus")), flux_json(document)});
  }
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(flux_json(document));
  if (to.csv == "-") return console.print(table.csv);
  return console.print(flux_text(document));
}

Exit run_flux(const Call& call, Console& console) {
  if (call.inputs.size() > 1) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "more than one log",
                           "one",
                           "call flux once a log; a study does many"});
  }
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  std::vector<std::string> inputs = call.inputs;
  for (const char* option : {"map", "instrument", "samples"}) {
    if (call.has(option)) inputs.push_back(call.value(option));
  }
  if (auto ok = check_destinations(*to, inputs); !ok) return ended(console, ok.error());
  if (call.has("plateaus")) {
    Destinations of_plateaus;
    of_plateaus.csv = call.value("plateaus");
    of_plateaus.force = to->force;
    for (const std::string& other : {to->csv, to->json}) {
      if (!other.empty() && (of_plateaus.csv == other || meta_path(of_plateaus.csv) == other)) {
        return ended(console, {ErrorCode::usage,
                               {},
                               "two results would be one file, '" + other + "'",
                               "a name of its own for each of --out, --plateaus and --json",
                               ""});
      }
    }
    if (auto ok = check_destinations(of_plateaus, inputs); !ok) return ended(console, ok.error());
  }
  FluxWork work;
  if (auto ok = read_log_of(call, work, console); !ok) return ended(console, ok.error());
  if (auto ok = read_others(call, work, console); !ok) return ended(console, ok.error());
  if (auto ok = cut(call, work, console); !ok) return ended(console, ok.error());
  const auto rows = compute(call, work, console);
  if (!rows) return ended(console, rows.error());
  if (interrupted()) {
    console.complain("leafwright: interrupted; nothing was written");
    return Exit::interrupted;
  }
  if (auto ok = publish(call, work, *rows, *to, console); !ok) return ended(console, ok.error());
  bool all = true;
  for (const FluxCurveSummary& curve : flux_curves(work.source(), *rows)) {
    if (curve.used > 0 || curve.first_why == "left out by --only") continue;
    all = false;
    console.complain("leafwright: curve '" + curve.curve_id + "': none of its " +
                     counted(curve.rows, "row") + " can be used; the first: " + curve.first_why);
  }
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command flux_command() {
  return {
      .name = "flux",
      .summary = "E, A, gsw and Ci of every row of a log, from its mole fractions",
      .example =
          "leafwright flux log.csv --instrument chamber.toml --samples leaves.csv --out "
          "points.csv",
      .inputs = "LOG",
      .inputs_help = "delimited text or .xlsx; - reads standard input",
      .settings = {{"rows", points_settings()},
                   {"curves", cut_settings()},
                   {"fluxes", flux_settings()},
                   {"equalisation of the cells", equalise_settings()},
                   {"plateaus of --plateaus", step_settings()},
                   {"screening", screen_settings()},
                   {"layout of the file", layout_settings()}},
      .options = {{"map", "FILE", "column map (TOML) for other titles and units"},
                  {"instrument", "FILE", "what the columns do not say of the instrument (TOML)"},
                  {"samples", "FILE", "samples table: leaf area and more, a row a curve"},
                  {"out", "CSV|-",
                   "every row with its columns and the fluxes, with settings and sources in "
                   "CSV.meta.json"},
                  {"plateaus", "CSV",
                   "one row a plateau of CO2r, for a continuous log of steps: means, their fluxes, "
                   "and how steady they are"},
                  {"json", "FILE|-",
                   "what was done as JSON; with - on standard output instead of the text"},
                  {"force", "", "replace files that are there already"}},
      .run = run_flux};
}

}  // namespace leafwright::cli
