// The sections of a study file and the settings that stand in each: keys are option names, so that
// what is said on the command line can be written down as it is.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"

namespace leafwright {

/// `[fit]` and the tables of settings whose names may stand in it.
struct SectionSpec {
  std::string name;
  std::string about;  ///< what the section decides, for docs
  std::vector<SettingTable> tables;
};

/// All sections in the order of the work. One without tables is known, but nothing can be set in it
/// in this version.
const std::vector<SectionSpec>& study_sections();

/// The settings of one section, each table of its own.
class SectionSettings {
 public:
  explicit SectionSettings(const SectionSpec& spec);

  [[nodiscard]] const SectionSpec& spec() const { return *spec_; }
  /// Sets a value in whichever table has the name. Errors: usage, as Settings::set; for an unknown
  /// name the nearest key of the section is named.
  Result<void> set(const std::string& name, const std::string& value, SettingOrigin origin);
  [[nodiscard]] bool has(const std::string& name) const;
  /// The values of one table.
  [[nodiscard]] const Settings& of(SettingTable table) const;
  [[nodiscard]] const std::vector<Settings>& tables() const { return tables_; }
  /// Does the study file have this section, even if it is empty?
  [[nodiscard]] bool stated() const { return stated_; }
  void state() { stated_ = true; }

 private:
  const SectionSpec* spec_;
  std::vector<Settings> tables_;
  bool stated_ = false;
};

/// Settings of the program rather than of a room: `pathway`; `continuous`; `figure-width`, `theme`.
SettingTable pathway_settings();
SettingTable continuous_settings();
SettingTable figure_settings();
/// Which curves [pool] takes: `role`, `only`.
SettingTable pool_rows_settings();
/// Which curves [together] takes, and their group: `role`, `group`.
SettingTable together_rows_settings();

}  // namespace leafwright
