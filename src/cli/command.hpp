// A command as data: what it is called with, and what runs it. Help, docs/commands.md and the
// parser are made from this.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"

namespace leafwright::cli {

class Console;

/// An option that says where results go or what is shown; what changes a number is a Setting.
struct Option {
  std::string name;        ///< without dashes
  std::string value_name;  ///< "" makes it a flag
  std::string help;
};

/// Settings under one heading of --help.
struct SettingsOf {
  std::string heading;
  SettingTable table;
};

/// Words that an option accepts, with what each means, for the end of --help.
struct Glossary {
  std::string heading;
  std::vector<std::pair<std::string, std::string>> entries;
};

/// A command line taken apart. Settings are checked, options are raw.
struct Call {
  std::vector<std::string> inputs;
  std::map<std::string, std::string> options;
  std::vector<Settings> settings;  ///< one for each of Command::settings, in that order

  [[nodiscard]] bool has(const std::string& option) const { return options.contains(option); }
  /// The value of an option, "" where it was not given.
  [[nodiscard]] std::string value(const std::string& option) const {
    const auto found = options.find(option);
    return found == options.end() ? "" : found->second;
  }
};

/// Ends of the program; docs/formats/exit-codes.md.
enum class Exit {
  done = 0,
  partly = 1,
  usage = 2,
  unreadable = 3,
  refused = 4,
  internal = 5,
  interrupted = 130
};

/// The end that a failure of the whole command leads to.
Exit exit_for(ErrorCode code);

struct Command {
  std::string name;
  std::string summary;      ///< one line
  std::string example;      ///< one command line
  std::string inputs = {};  ///< "POINTS...", "[COMMAND]" (optional); "" for none
  std::string inputs_help = {};
  std::vector<SettingsOf> settings = {};
  std::vector<Option> options = {};
  std::vector<Glossary> glossaries = {};
  Exit (*run)(const Call& call, Console& console) = nullptr;
};

/// All commands, in the order of the help.
const std::vector<Command>& commands();

}  // namespace leafwright::cli
