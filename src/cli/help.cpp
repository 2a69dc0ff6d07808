#include "cli/help.hpp"

#include "report/settings_report.hpp"
#include "report/text_table.hpp"

namespace leafwright::cli {
namespace {

/// "--name VALUE" over an indented sentence.
std::string entry(const std::string& head, const std::string& help) {
  return "  " + head + "\n" + wrapped(help, 6);
}

std::string setting_entry(const Setting& setting) {
  const bool choice = setting.kind == SettingKind::choice;
  std::string help = setting.help;
  if (!setting.unit.empty()) help += " [" + setting.unit + "]";
  const std::string range = choice ? "" : range_of(setting);
  if (!range.empty()) help += "; " + range;
  if (setting.kind == SettingKind::list) help += "; may be repeated";
  if (!setting.default_value.empty()) help += " (default " + setting.default_value + ")";
  return entry("--" + setting.name + " " + value_name(setting), help);
}

std::string option_head(const Option& option) {
  return "--" + option.name + (option.value_name.empty() ? "" : " " + option.value_name);
}

constexpr const char* exit_codes =
    "\nexit: 0 done; 1 done, but some or all curves could not be, each named; 2 wrong call;\n"
    "3 input that cannot be read; 4 refused because something would be lost or be wrong;\n"
    "5 internal; 130 interrupted\n";

}  // namespace

std::string command_help(const Command& command) {
  std::string out = wrapped("leafwright " + command.name + ": " + command.summary, 0);
  out += "\nexample\n  " + command.example + "\n";
  out += "\ncall\n  leafwright " + command.name;
  if (!command.inputs.empty()) out += " " + command.inputs;
  out += " [options]\n";
  if (!command.inputs.empty()) out += "\n" + entry(command.inputs, command.inputs_help);
  for (const SettingsOf& group : command.settings) {
    out += "\n" + group.heading + "\n";
    for (const Setting& setting : group.table) out += setting_entry(setting);
  }
  out += "\noutput\n";
  for (const Option& option : command.options) out += entry(option_head(option), option.help);
  out += entry("--quiet", "no talk on standard error but errors");
  out += entry("--help", "this text");
  for (const Glossary& glossary : command.glossaries) {
    out += "\n" + glossary.heading + "\n";
    for (const auto& [word, meaning] : glossary.entries) out += entry(word, meaning);
  }
  return out + exit_codes;
}

std::string program_help() {
  std::string out =
      "leafwright: photosynthetic capacities from leaf gas exchange\n\n"
      "example\n"
      "  leafwright look points.csv\n"
      "  leafwright fit points.csv --pathway c3 --out fits.csv --figures figures\n\n"
      "commands\n";
  TextTable table;
  table.column("", TextTable::Align::left);
  table.column("", TextTable::Align::left);
  for (const Command& command : commands()) table.row({command.name, command.summary});
  std::string rows = table.text(2);
  out += rows.substr(rows.find('\n') + 1);  // without the empty head
  return out +
         "\n'leafwright COMMAND --help' shows a command's options, 'leafwright --version' the\n"
         "version. Results go to standard output, talk to standard error.\n";
}

std::string commands_markdown() {
  std::string out =
      "# Commands\n\n"
      "What `--help` prints. This page is written by `leafwright help --markdown`; a test fails\n"
      "when it is not what the program says. Settings with their ranges and sources:\n"
      "[settings.md](settings.md).\n\n"
      "```text\n" +
      program_help() + "```\n";
  for (const Command& command : commands()) {
    out += "\n## " + command.name + "\n\n```text\n" + command_help(command) + "```\n";
  }
  return out;
}

}  // namespace leafwright::cli
