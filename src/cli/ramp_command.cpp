#include "cli/ramp_command.hpp"

#include <memory>
#include <optional>

#include "base/number.hpp"
#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/outputs.hpp"
#include "cli/ramp_inputs.hpp"
#include "cli/record_inputs.hpp"
#include "log/flux.hpp"
#include "log/flux_csv.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/ramp_rows.hpp"
#include "ramp/settings.hpp"
#include "report/ramp_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_records, of_layout, of_correction, of_conditions, of_path };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

constexpr RampGroups groups{of_records, of_layout, of_correction, of_path};

/// What a call read and made. Other parts point into it.
struct RampWork : RampInputs {
  std::vector<RampOutcome> ramps;
  FluxRows rows;
};

/// Corrects every record of the leaf; one that fails is told and stops no other.
Result<void> correct_all(const Call& call, const CorrectionOptions& options, RampWork& work,
                         Console& console) {
  const Log& log = *work.leaf.logs.front();
  work.rows = blank_flux_rows(log.rows());
  std::vector<char> in_record(log.rows(), 0);
  for (const RampRecord& record : work.leaf.records) {
    RampOutcome outcome{record.name, {}, ""};
    for (const std::size_t row : record.rows) in_record[row] = 1;
    auto ramp = correct_record(call, groups, work, record, options);
    if (!ramp) {
      if (work.leaf.records.size() == 1) return fail(ramp.error());
      outcome.failed = ramp.error().text();
      console.complain(ramp.error());
      for (const std::size_t row : record.rows) work.rows.leave_out(row, ramp.error().found);
    } else {
      place_ramp(record, *ramp, work.rows);
      outcome.ramp = std::make_shared<const CorrectedRamp>(std::move(*ramp));
    }
    work.ramps.push_back(std::move(outcome));
  }
  leave_out_strays(in_record, work.rows);
  return {};
}

/// Each record as a curve: by the curve column where there is one, else after the file.
Cut cut_of(const RampWork& work, const std::string& curve_column) {
  const Table& table = work.leaf.logs.front()->table();
  Cut cut;
  cut.by = table.has(curve_column) ? CutBy::column : CutBy::file;
  cut.curve_of.assign(table.rows(), Cut::no_curve);
  for (const RampRecord& record : work.leaf.records) {
    CutCurve curve;
    const auto column = table.find(curve_column);
    curve.curve_id =
        column ? std::string(table.text(*column, record.rows.front())) : file_stem(table.file());
    curve.recorded_id = curve.curve_id;
    curve.rows = record.rows;
    for (const std::size_t row : record.rows) {
      cut.curve_of[row] = static_cast<std::uint32_t>(cut.curves.size());
    }
    cut.curves.push_back(std::move(curve));
  }
  return cut;
}

Result<void> publish(const Call& call, const RampWork& work, const Destinations& to,
                     Console& console) {
  const Log& log = *work.leaf.logs.front();
  FluxSource source;
  source.log = &log;
  const TimeAxis axis;
  const Cut cut = cut_of(work, call.settings[of_records].text("curve"));
  source.axis = &axis;
  source.cut = &cut;
  source.instrument = &work.leaf.instrument;
  const auto table = flux_table(source, work.rows);
  if (!table) return fail(table.error());
  RampDocument document;
  document.ramps = work.ramps;
  document.path = work.path ? &*work.path : nullptr;
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  document.inputs = work.files;
  document.columns = table->columns;
  std::vector<FileToWrite> files;
  if (to.csv != "-") {
    files.push_back({to.csv, table->csv});
    files.push_back({meta_path(to.csv), ramp_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, ramp_json(document)});
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.csv == "-") return console.print(table->csv);
  return console.print(to.json == "-" ? ramp_json(document) : ramp_text(document));
}

Exit run_ramp(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (to->csv.empty()) {
    return ended(console, {ErrorCode::usage, {}, "no --out given", "--out CSV or --out -", ""});
  }
  if (call.inputs.size() != 1) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "several leaf records",
                           "one LEAF file",
                           "records of the empty chamber are given with --empty"});
  }
  if (auto ok = check_destinations(*to, files_read(call, groups)); !ok)
    return ended(console, ok.error());
  auto options = correction_options(call.settings[of_correction]);
  if (!options) return ended(console, options.error());
  options->conditions = condition_options(call.settings[of_conditions]);
  auto inputs = read_ramp_inputs(call, groups, options->method, console);
  if (!inputs) return ended(console, inputs.error());
  RampWork work{std::move(*inputs), {}, {}};
  if (auto ok = correct_all(call, *options, work, console); !ok) {
    return ended(console, ok.error());
  }
  if (auto ok = publish(call, work, *to, console); !ok) return ended(console, ok.error());
  bool all = true;
  for (const RampOutcome& outcome : work.ramps) all = all && outcome.failed.empty();
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command ramp_command() {
  return {.name = "ramp",
          .summary = "points of A against Ci from a fast ramp of CO2, corrected for the gas path",
          .example =
              "leafwright ramp leaf.csv --empty empty.csv --instrument instrument.toml "
              "--out points.csv",
          .inputs = "LEAF",
          .inputs_help =
              "the leaf's record with CO2r, CO2s, H2Or, H2Os, flow, Tair, Tleaf, Patm and time; "
              "rows of one curve_id are one ramp; - reads standard input",
          .settings = {{"records", record_settings()},
                       {"layout of the files", layout_settings()},
                       {"correction", correction_settings()},
                       {"conditions of empty records", condition_settings()},
                       {"gas path, where it is identified here", path_settings()}},
          .options = ramp_options(
              "every row with all its columns and E, A, gsw, Ci, their _sd, use and why; "
              "how it was made stands in CSV.meta.json",
              "how it was made; with - on standard output"),
          .run = run_ramp};
}

}  // namespace leafwright::cli
