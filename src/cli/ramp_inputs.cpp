#include "cli/ramp_inputs.hpp"

#include "cli/input.hpp"
#include "ramp/empty_dates.hpp"
#include "ramp/identify.hpp"
#include "ramp/path_json.hpp"
#include "ramp/settings.hpp"
#include "report/sha256.hpp"

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

}  // namespace

FluxOptions air_of(const Instrument& instrument) {
  FluxOptions air;
  if (instrument.vapour_pressure) air.vapour_pressure = *instrument.vapour_pressure;
  air.overpressure = instrument.overpressure.value_or(0);
  air.gbw_is = instrument.gbw_is;
  air.stomatal_ratio = instrument.stomatal_ratio;
  air.co2_per = instrument.co2_per.value_or(Co2Per::moist_air);
  return air;
}

Result<std::optional<GasPath>> take_path(const Call& call, const Settings& path_settings,
                                         CorrectionMethod method, RecordInputs& leaf,
                                         RecordInputs& empties, std::vector<InputFile>& files) {
  if (call.has("path")) {
    const auto bytes = read_input(call.value("path"));
    if (!bytes) return fail(bytes.error());
    files.push_back({call.value("path"), bytes->size(), sha256(*bytes)});
    auto path = read_path(*bytes, call.value("path"));
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!empties.records.empty()) {
    const IdentifyOptions options = identify_options(path_settings);
    if (auto ok = take_date(options, leaf, empties); !ok) return fail(ok.error());
    auto path = identify(empties.records, options);
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!takes_path(method)) return std::optional<GasPath>();
  return fail(ErrorCode::usage,
              std::string("--correction ") + correction_name(method) + " without a gas path",
              "--empty EMPTY (a record of the empty chamber) or --path FILE");
}

}  // namespace leafwright::cli
