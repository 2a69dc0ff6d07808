#include "cli/parse.hpp"

#include <CLI/CLI.hpp>

#include <algorithm>

#include "base/text.hpp"

namespace leafwright::cli {
namespace {

/// What CLI11 fills in, as text; checking is left to the settings.
struct Raw {
  std::map<std::string, std::vector<std::string>> values;
  std::map<std::string, bool> flags;
  std::vector<std::string> inputs;
};

void add_value(CLI::App& app, Raw& raw, const std::string& name) {
  app.add_option("--" + name, raw.values[name])
      ->expected(1)
      ->allow_extra_args(false)
      ->multi_option_policy(CLI::MultiOptionPolicy::TakeAll);
}

void declare(CLI::App& app, Raw& raw, const Command& command) {
  app.set_help_flag();
  app.allow_extras();
  app.add_flag("-h,--help", raw.flags["help"]);
  app.add_flag("--quiet", raw.flags["quiet"]);
  for (const SettingsOf& group : command.settings) {
    for (const Setting& setting : group.table) add_value(app, raw, setting.name);
  }
  for (const Option& option : command.options) {
    if (option.value_name.empty()) {
      app.add_flag("--" + option.name, raw.flags[option.name]);
    } else {
      add_value(app, raw, option.name);
    }
  }
  if (!command.inputs.empty()) app.add_option("inputs", raw.inputs);
}

std::vector<std::string> option_names(const Raw& raw) {
  std::vector<std::string> names;
  for (const auto& [name, values] : raw.values) names.push_back("--" + name);
  for (const auto& [name, given] : raw.flags) names.push_back("--" + name);
  return names;
}

/// What stands on the line and means nothing here.
Result<void> check_extras(const std::vector<std::string>& extras, const Raw& raw,
                          const Command& command) {
  for (const std::string& extra : extras) {
    if (extra == "--") continue;  // what follows it are inputs, whatever they look like
    if (extra.size() > 1 && extra.front() == '-') {
      const std::string name = extra.substr(0, extra.find('='));
      const auto known = option_names(raw);
      const auto near = nearest_name(name, known);
      return fail(ErrorCode::usage, "unknown option '" + shortened(name) + "'", "",
                  near ? "did you mean '" + *near + "'?"
                       : "'leafwright " + command.name + " --help' lists the options");
    }
  }
  for (const std::string& extra : extras) {
    if (extra == "--") continue;
    return fail(ErrorCode::usage, "'" + shortened(extra) + "' has no place here", "",
                "'leafwright " + command.name + " --help' shows the call");
  }
  return {};
}

Result<void> check_inputs(const Call& call, const Command& command) {
  if (std::find(call.inputs.begin(), call.inputs.end(), "") != call.inputs.end()) {
    return fail(ErrorCode::usage, "a name of " + command.inputs + " is empty", "a file");
  }
  const bool needed = !command.inputs.empty() && !command.inputs.starts_with("[");
  if (!needed || !call.inputs.empty()) return {};
  return fail(ErrorCode::usage, "no " + command.inputs + " given",
              "a file, or - for standard input", "leafwright " + command.name + " --help");
}

/// CLI11's own complaints. An option without its value is the one that users meet.
Error told(const CLI::ParseError& error, const Command& command) {
  Error out;
  out.code = ErrorCode::usage;
  out.found = error.what();
  out.hint = "'leafwright " + command.name + " --help' shows the call";
  if (const auto* missing = dynamic_cast<const CLI::ArgumentMismatch*>(&error)) {
    const std::string what = missing->what();
    out.found = what.substr(0, what.find(':')) + " needs a value";
  }
  return out;
}

Result<Call> checked(const Raw& raw, const Command& command) {
  Call call;
  call.inputs = raw.inputs;
  for (const auto& [name, given] : raw.flags) {
    if (given) call.options[name] = "";
  }
  for (const SettingsOf& group : command.settings) {
    Settings& settings = call.settings.emplace_back(group.table);
    for (const Setting& setting : group.table) {
      const auto& values = raw.values.at(setting.name);
      if (values.size() > 1 && setting.kind != SettingKind::list) {
        return fail(ErrorCode::usage, "--" + setting.name + " is given twice", "one value");
      }
      for (const std::string& value : values) {
        auto ok = settings.set(setting.name, value, SettingOrigin::option);
        if (!ok) return fail(ok.error());
      }
    }
  }
  for (const Option& option : command.options) {
    if (option.value_name.empty()) continue;
    const auto& values = raw.values.at(option.name);
    if (values.size() > 1) {
      return fail(ErrorCode::usage, "--" + option.name + " is given twice", "one value");
    }
    if (!values.empty() && values.front().empty()) {
      return fail(ErrorCode::usage, "--" + option.name + " is empty", option.value_name);
    }
    if (!values.empty()) call.options[option.name] = values.front();
  }
  return call;
}

}  // namespace

Result<std::optional<Call>> parse_call(const Command& command, std::vector<std::string> arguments) {
  CLI::App app;
  Raw raw;
  declare(app, raw, command);
  try {
    std::reverse(arguments.begin(), arguments.end());  // CLI11 takes them from the back
    app.parse(std::move(arguments));
  } catch (const CLI::ParseError& error) {
    return fail(told(error, command));
  }
  if (raw.flags.at("help")) return std::optional<Call>();
  if (auto ok = check_extras(app.remaining(), raw, command); !ok) return fail(ok.error());
  auto call = checked(raw, command);
  if (!call) return fail(call.error());
  if (auto ok = check_inputs(*call, command); !ok) return fail(ok.error());
  return std::optional<Call>(std::move(*call));
}

}  // namespace leafwright::cli
