#include "base/setting.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

namespace {

std::string range_text(const Setting& setting) {
  const std::string unit = setting.unit.empty() ? "" : " " + setting.unit;
  const std::string what = setting.kind == SettingKind::whole ? "a whole number" : "a number";
  if (setting.low && setting.high) {
    return what + " from " + print_number(*setting.low) + " to " + print_number(*setting.high) +
           unit;
  }
  if (setting.low) return what + " of at least " + print_number(*setting.low) + unit;
  if (setting.high) return what + " of at most " + print_number(*setting.high) + unit;
  return what + (setting.unit.empty() ? "" : " in" + unit);
}

Result<void> check_number(const Setting& setting, const std::string& value) {
  const std::string shown = "'" + shortened(value) + "' for '" + setting.name + "'";
  const auto number = parse_number(value);
  if (!number) {
    return fail(ErrorCode::usage, shown + " is not a number", range_text(setting),
                parse_number(value, ',') ? "write the decimal mark as a point" : "");
  }
  // Beyond 2^53 a double no longer holds every whole number; `long` may end earlier.
  const double whole_limit =
      std::min(9007199254740992.0, static_cast<double>(std::numeric_limits<long>::max()) / 2);
  if (setting.kind == SettingKind::whole &&
      (*number != std::floor(*number) || std::abs(*number) > whole_limit)) {
    return fail(ErrorCode::usage, shown + " is not a whole number", range_text(setting));
  }
  if ((setting.low && *number < *setting.low) || (setting.high && *number > *setting.high)) {
    return fail(ErrorCode::usage, shown + " is out of range", range_text(setting));
  }
  return {};
}

Result<void> check(const Setting& setting, const std::string& value) {
  switch (setting.kind) {
    case SettingKind::number:
    case SettingKind::whole:
      return check_number(setting, value);
    case SettingKind::choice:
      if (std::find(setting.choices.begin(), setting.choices.end(), value) ==
          setting.choices.end()) {
        const auto near = nearest_name(value, setting.choices);
        return fail(
            ErrorCode::usage,
            "'" + shortened(value) + "' for '" + setting.name + "' is not among the choices",
            "one of " + join(setting.choices), near ? "did you mean '" + *near + "'?" : "");
      }
      return {};
    case SettingKind::text:
    case SettingKind::list:
      return {};
  }
  return {};
}

}  // namespace

const char* origin_name(SettingOrigin origin) {
  switch (origin) {
    case SettingOrigin::default_value:
      return "default";
    case SettingOrigin::study:
      return "study";
    case SettingOrigin::option:
      return "option";
  }
  return "default";
}

Settings::Settings(SettingTable table) : table_(table) {
  for (const Setting& setting : table_) {
    Value value;
    if (!setting.default_value.empty()) {
      // A default that its own rule refuses is a mistake in the table, not of the user.
      if (const auto ok = check(setting, setting.default_value); !ok) {
        throw std::logic_error("default of a setting: " + ok.error().text());
      }
      value.texts.push_back(setting.default_value);
    }
    if (!values_.emplace(setting.name, std::move(value)).second) {
      throw std::logic_error("setting '" + setting.name + "' is declared twice");
    }
  }
}

Result<void> Settings::set(const std::string& name, const std::string& value,
                           SettingOrigin origin) {
  const auto declared =
      std::find_if(table_.begin(), table_.end(), [&](const Setting& s) { return s.name == name; });
  if (declared == table_.end()) {
    std::vector<std::string> known;
    for (const Setting& setting : table_) known.push_back(setting.name);
    return fail(ErrorCode::usage, "unknown setting '" + shortened(name) + "'", "",
                suggest_name(name, known));
  }
  if (auto ok = check(*declared, value); !ok) return ok;
  Value& held = values_.at(name);
  if (held.origin > origin) return {};  // an option stands above the study, whichever comes first
  if (declared->kind != SettingKind::list || held.origin != origin) held.texts.clear();
  held.texts.push_back(value);
  held.origin = origin;
  return {};
}

const Settings::Value& Settings::value(const std::string& name) const {
  const auto found = values_.find(name);
  if (found == values_.end()) throw std::logic_error("setting '" + name + "' is not declared");
  return found->second;
}

const std::string& Settings::text(const std::string& name) const {
  static const std::string none;
  const Value& held = value(name);
  return held.texts.empty() ? none : held.texts.front();
}

double Settings::number(const std::string& name) const {
  const auto parsed = parse_number(text(name));
  if (!parsed) throw std::logic_error("setting '" + name + "' is not set or not a number");
  return *parsed;
}

long Settings::whole(const std::string& name) const {
  const double held = number(name);
  if (held != std::floor(held)) {
    throw std::logic_error("setting '" + name + "' is not a whole number");
  }
  return static_cast<long>(held);
}

const std::vector<std::string>& Settings::list(const std::string& name) const {
  return value(name).texts;
}

bool Settings::is_set(const std::string& name) const {
  return !value(name).texts.empty();
}

SettingOrigin Settings::origin(const std::string& name) const {
  return value(name).origin;
}

}  // namespace leafwright
