#include "study/response_step.hpp"

#include <algorithm>

#include "report/fit_csv.hpp"
#include "table/table.hpp"

namespace leafwright {

Result<void> check_response_section(const Study& study) {
  const Settings& settings = study.settings(response_settings());
  if (settings.is_set("of")) return {};
  for (const Setting& setting : settings.table()) {
    if (settings.origin(setting.name) == SettingOrigin::default_value ||
        !settings.is_set(setting.name)) {
      continue;
    }
    return fail(ErrorCode::usage, "[response] has '" + setting.name + "' but no 'of'",
                "of = \"temperature\", \"light\", \"electrons\" or \"stomata\"",
                "it says what the values respond to; remove the section to have no response",
                {study.file, 0, 0, ""});
  }
  return {};
}

Result<std::optional<ResponseRun>> study_responses(const StudyRun& run) {
  const Settings& settings = run.study.settings(response_settings());
  if (!settings.is_set("of")) return std::optional<ResponseRun>();
  const bool of_fits = settings.text("of") == "temperature" || settings.text("of") == "electrons";
  const auto table = read_table(of_fits ? fit_csv(run.document()) : run.points_csv,
                                of_fits ? "fits.csv" : "points.csv");
  if (!table) return fail(table.error());
  auto responses = fit_responses(*table, settings);
  if (!responses) return fail(responses.error());
  // The table is of our own making: its units are those of the symbols.
  Notes& notes = responses->notes;
  notes.erase(std::remove_if(notes.begin(), notes.end(),
                             [](const Note& note) { return note.about == "unit-assumed"; }),
              notes.end());
  return std::optional(std::move(*responses));
}

}  // namespace leafwright
