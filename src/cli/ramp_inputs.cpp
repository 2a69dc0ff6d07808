#include "cli/ramp_inputs.hpp"

#include "air/flux.hpp"
#include "cli/input.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/empty_dates.hpp"
#include "ramp/identify.hpp"
#include "ramp/path_json.hpp"
#include "ramp/settings.hpp"
#include "report/sha256.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

/// Of empty records of several dates those that belong to the leaf; said with every ramp.
Result<void> take_date(const IdentifyOptions& options, RecordInputs& leaf, RecordInputs& empties) {
  std::optional<EmptiesOfDate> chosen;
  for (const RampRecord& record : leaf.records) {
    auto of_record = empties_of_date(empties.records, record, options);
    if (!of_record) return fail(of_record.error());
    if (chosen && chosen->use != of_record->use) {
      return fail(ErrorCode::usage,
                  "empty records of several dates, of which " + leaf.records.front().name +
                      " and " + record.name + " belong to different ones",
                  "leaf records that belong to empty records of one date",
                  "choose them with --only, or write a study for 'leafwright run', which takes the "
                  "empty record of each ramp's day");
    }
    chosen = std::move(*of_record);
  }
  if (!chosen) return {};
  for (RampRecord& record : leaf.records) {
    record.notes.insert(record.notes.end(), chosen->notes.begin(), chosen->notes.end());
  }
  std::vector<RampRecord> kept;
  for (const std::size_t i : chosen->use) kept.push_back(empties.records[i]);
  empties.records = std::move(kept);
  return {};
}

FluxOptions air_of(const Instrument& instrument) {
  FluxOptions air;
  if (instrument.vapour_pressure) air.vapour_pressure = *instrument.vapour_pressure;
  air.overpressure = instrument.overpressure.value_or(0);
  air.gbw_is = instrument.gbw_is;
  air.stomatal_ratio = instrument.stomatal_ratio;
  air.co2_per = instrument.co2_per.value_or(Co2Per::moist_air);
  return air;
}

/// From --path, else identified in the empties; empty where none is given and none is taken.
Result<std::optional<GasPath>> take_path(const Call& call, const Settings& path_settings,
                                         CorrectionMethod method, RampInputs& work) {
  if (call.has("path")) {
    const auto bytes = read_input(call.value("path"));
    if (!bytes) return fail(bytes.error());
    work.files.push_back({call.value("path"), bytes->size(), sha256(*bytes)});
    auto path = read_path(*bytes, call.value("path"));
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!work.empties.records.empty()) {
    const IdentifyOptions options = identify_options(path_settings);
    if (auto ok = take_date(options, work.leaf, work.empties); !ok) return fail(ok.error());
    auto path = identify(work.empties.records, options);
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!takes_path(method)) return std::optional<GasPath>();
  return fail(ErrorCode::usage,
              std::string("--correction ") + correction_name(method) + " without a gas path",
              "--empty EMPTY (a record of the empty chamber) or --path FILE");
}

}  // namespace

std::vector<Option> ramp_options(std::string out_help, std::string json_help) {
  return {
      {"path", "FILE", "the gas path as 'path --json' wrote it, in place of --empty"},
      {"instrument", "TOML", "chamber volume, boundary layer, timing; docs/formats/instruments.md"},
      {"map", "TOML", "columns with other titles; docs/formats/maps.md"},
      {"out", "CSV|-", std::move(out_help)},
      {"json", "FILE|-", std::move(json_help)},
      {"force", "", "replace files that are there already"}};
}

std::vector<std::string> files_read(const Call& call, const RampGroups& groups) {
  std::vector<std::string> out = call.inputs;
  for (const char* option : {"map", "instrument", "path"}) {
    if (call.has(option)) out.push_back(call.value(option));
  }
  const auto& empties = call.settings[groups.correction].list("empty");
  out.insert(out.end(), empties.begin(), empties.end());
  return out;
}

Result<RampInputs> read_ramp_inputs(const Call& call, const RampGroups& groups,
                                    CorrectionMethod method, Console& console) {
  RampInputs out;
  const RecordChoice choice =
      record_choice(call.settings[groups.records], layout_choice(call.settings[groups.layout]),
                    call.value("map"), call.value("instrument"));
  auto leaf = read_records(call.inputs, choice, RecordRole::leaf, console);
  if (!leaf) return fail(leaf.error());
  out.leaf = std::move(*leaf);
  const auto& empties = call.settings[groups.correction].list("empty");
  if (!empties.empty()) {
    RecordChoice plain = choice;
    plain.curve = "curve_id";
    plain.only.clear();
    auto read = read_records(empties, plain, RecordRole::empty, console);
    if (!read) return fail(read.error());
    out.empties = std::move(*read);
  }
  auto path = take_path(call, call.settings[groups.path], method, out);
  if (!path) return fail(path.error());
  out.path = std::move(*path);
  out.files.insert(out.files.begin(), out.leaf.files.begin(), out.leaf.files.end());
  out.files.insert(out.files.end(), out.empties.files.begin(), out.empties.files.end());
  return out;
}

Result<CorrectedRamp> correct_record(const Call& call, const RampGroups& groups,
                                     const RampInputs& inputs, const RampRecord& record,
                                     CorrectionOptions options) {
  if (options.method == CorrectionMethod::joint) {
    auto model = joint_options(call.settings[groups.correction], record);
    if (!model) return fail(model.error());
    options.joint = std::move(*model);
  }
  CorrectionInput input;
  input.leaf = &record;
  input.path = inputs.path ? &*inputs.path : nullptr;
  input.empties = inputs.empties.records;
  input.air = air_of(inputs.leaf.instrument);
  // A column stands above the instrument.
  if (!median_of(record.gbw)) input.gbw = inputs.leaf.instrument.gbw;
  return correct(input, options);
}

}  // namespace leafwright::cli
