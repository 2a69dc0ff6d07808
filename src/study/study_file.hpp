// The study file: which logs belong together, how they are read, and every setting of the work
// (TOML, docs/formats/study.md).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "study/sections.hpp"

namespace leafwright {

enum class LogRole {
  steps,  ///< points taken one by one while CO2 stands still
  ramp,   ///< CO2 that moves all the time
  empty,  ///< the same with no leaf in the chamber
};
const char* role_name(LogRole role);  ///< "steps", "ramp", "empty"

/// A file that the study names: as written, and where it is, seen from the working directory.
struct StudyPath {
  std::string written;
  std::string path;  ///< "" where none was given
  Place place;       ///< in the study file
  [[nodiscard]] bool given() const { return !path.empty(); }
};

struct StudyLog {
  StudyPath file, map, instrument;
  LogRole role = LogRole::steps;
  bool role_given = false;
  std::optional<std::string> sheet;
};

struct Study {
  std::string file;   ///< the path it was read from
  std::string title;  ///< "" where none was given
  std::string time_zone;
  Place time_zone_place;
  std::optional<std::uint64_t> seed;
  std::vector<StudyLog> logs;
  StudyPath samples;
  std::vector<SectionSettings> sections;  ///< one for each of study_sections()

  [[nodiscard]] const SectionSettings& section(std::string_view name) const;
  /// The values of a table of settings, whichever section it stands in.
  [[nodiscard]] const Settings& settings(SettingTable table) const;
};

/// Reads a study file. `file` is its path: the paths in it count from its folder. Nothing else is
/// opened. Errors, all with their place: unreadable, for text that is no TOML; usage, for another
/// schema, a key that is not known (with the nearest one), a value of the wrong type or out of
/// range, a study without logs, a log without a file or named twice, a time zone that is not known.
Result<Study> read_study(std::string_view bytes, const std::string& file);

}  // namespace leafwright
