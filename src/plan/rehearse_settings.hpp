// The settings of a rehearsal: one table (docs/settings.md is made from it), and simulator settings
// from it.
#pragma once

#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "plan/simulator.hpp"

namespace leafwright {

/// The tables, in the order in which they are shown.
SettingTable rehearse_source_settings();
SettingTable rehearse_leaf_settings();
SettingTable rehearse_chamber_settings();
SettingTable rehearse_record_settings();

/// One `Settings` of each table.
struct RehearseSettings {
  Settings source{rehearse_source_settings()};
  Settings leaf{rehearse_leaf_settings()};
  Settings chamber{rehearse_chamber_settings()};
  Settings record{rehearse_record_settings()};

  /// Sets a value in the table that declares `name`. Errors: usage, as Settings::set.
  Result<void> set(const std::string& name, const std::string& value, SettingOrigin origin);
};

/// Errors: usage, for a list that is not one of numbers, an unknown kinetics set or a value that
/// does not fit; unfit, for a temperature or pressure outside what kinetics hold for.
Result<SimulatorSettings> simulator_settings(const RehearseSettings& settings);

/// Puts the keys of a plan (TOML, docs/formats/rehearse.md) into `settings`. A key is the name of a
/// setting, its value a number, a text, or a list of them; `schema = 1` may stand there too.
/// `file` is used in messages only. Errors, with their place: usage, for a key that is not known
/// (with the nearest one) or a value that its setting does not accept; unreadable, for text that is
/// no TOML.
Result<void> read_plan(std::string_view bytes, const std::string& file, RehearseSettings& settings);

/// The matching instrument file (docs/formats/instruments.md), TOML.
std::string rehearsed_instrument(const SimulatorSettings& settings);

}  // namespace leafwright
