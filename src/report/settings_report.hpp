// Settings as readers see them: beside results, in docs/settings.md, and in `leafwright settings`.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "base/setting.hpp"
#include "report/json_writer.hpp"

namespace leafwright {

/// The settings of one room, for documents.
struct SettingGroup {
  std::string title;  ///< "fit", "reading points", ...
  std::string about;  ///< one or two sentences
  SettingTable table;
};

/// {"kinetics": {"value": "bernacchi-2001", "origin": "default"}, ...}: every setting, set or not.
/// Numbers are numbers, lists are arrays, "not set" is null; a unit is named where there is one.
void write_settings(JsonWriter& json, std::span<const Settings* const> settings);

/// What help shows for the value: "VALUE", "COLUMN=VALUE", "c3|c4".
std::string value_name(const Setting& setting);

/// "0 to 1", "at least 1", "profile, bootstrap, none", "" where anything goes.
std::string range_of(const Setting& setting);

/// docs/settings.md, whole.
std::string settings_markdown(std::span<const SettingGroup> groups);

/// The same for a terminal.
std::string settings_text(std::span<const SettingGroup> groups);

/// The same as JSON: {"leafwright", "schema", "command", "groups": [...]}.
std::string settings_json(std::span<const SettingGroup> groups);

}  // namespace leafwright
