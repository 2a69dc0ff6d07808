#include "cli/ramp_inputs.hpp"

#include "cli/input.hpp"
#include "ramp/identify.hpp"
#include "ramp/path_json.hpp"
#include "ramp/settings.hpp"
#include "report/sha256.hpp"

namespace leafwright::cli {

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
                                         CorrectionMethod method, const RecordInputs& empties,
                                         std::vector<InputFile>& files) {
  if (call.has("path")) {
    const auto bytes = read_input(call.value("path"));
    if (!bytes) return fail(bytes.error());
    files.push_back({call.value("path"), bytes->size(), sha256(*bytes)});
    auto path = read_path(*bytes, call.value("path"));
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!empties.records.empty()) {
    auto path = identify(empties.records, identify_options(path_settings));
    if (!path) return fail(path.error());
    return std::optional(std::move(*path));
  }
  if (!takes_path(method)) return std::optional<GasPath>();
  return fail(ErrorCode::usage,
              std::string("--correction ") + correction_name(method) + " without a gas path",
              "--empty EMPTY (a record of the empty chamber) or --path FILE");
}

}  // namespace leafwright::cli
