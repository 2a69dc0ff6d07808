// Settings are data. Each room declares its own in one table; command options, TOML keys, JSON and
// docs/settings.md are made from that table, and a test fails when one is undocumented.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"

namespace leafwright {

enum class SettingKind {
  number,  ///< one real number in `unit`, inside [low, high]
  whole,   ///< one whole number inside [low, high]
  choice,  ///< one of `choices`
  text,    ///< free text, checked by the room that owns it
  list,    ///< may be given several times; kept in order
};

/// One setting as declared by its room. `name` is the option name (without dashes), the TOML key
/// and the JSON key alike.
struct Setting {
  std::string name = {};
  SettingKind kind = SettingKind::text;
  std::string unit = {};           ///< "" where it has none
  std::string default_value = {};  ///< as a user would type it; "" means "not set"
  std::optional<double> low = {};
  std::optional<double> high = {};
  std::vector<std::string> choices = {};
  std::string help = {};  ///< one sentence, no trailing full stop
  std::string source =
      {};  ///< where the default comes from: a paper, "common practice, no source", ...
  std::string value_name = "VALUE";  ///< what --help shows for the value
};

using SettingTable = std::span<const Setting>;

/// Where a value came from. The precedence of DESIGN is option > study > default.
enum class SettingOrigin { default_value, study, option };
const char* origin_name(SettingOrigin origin);

/// Values of one table, checked when set. Every value knows where it came from, so that outputs
/// can print all of them.
class Settings {
 public:
  explicit Settings(SettingTable table);

  /// Sets (or, for a list, appends) a value. Errors: usage, for an unknown name (with the nearest
  /// known one as a hint), a value of the wrong kind, out of range or not among the choices.
  Result<void> set(const std::string& name, const std::string& value, SettingOrigin origin);

  /// The text of a scalar setting. The name must be declared (an undeclared one throws).
  [[nodiscard]] const std::string& text(const std::string& name) const;
  /// The number of a `number` setting. It must be set and numeric, which `set` has checked.
  [[nodiscard]] double number(const std::string& name) const;
  [[nodiscard]] long whole(const std::string& name) const;
  [[nodiscard]] const std::vector<std::string>& list(const std::string& name) const;
  [[nodiscard]] bool is_set(const std::string& name) const;
  [[nodiscard]] SettingOrigin origin(const std::string& name) const;
  [[nodiscard]] SettingTable table() const { return table_; }

 private:
  struct Value {
    std::vector<std::string> texts;
    SettingOrigin origin = SettingOrigin::default_value;
  };
  const Value& value(const std::string& name) const;
  SettingTable table_;
  std::map<std::string, Value> values_;
};

}  // namespace leafwright
