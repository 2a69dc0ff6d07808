#include "cli/look_command.hpp"

#include <algorithm>

#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "log/look.hpp"
#include "log/map.hpp"
#include "report/look_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// What the options say beats what the map says of the layout.
LayoutChoice layout_of(const Call& call, const ColumnMap& map) {
  LayoutChoice choice = layout_choice(call.settings.front());
  const LayoutChoice& told = map.layout;
  if (!choice.encoding) choice.encoding = told.encoding;
  if (!choice.delimiter) choice.delimiter = told.delimiter;
  if (!choice.decimal) choice.decimal = told.decimal;
  if (!choice.header_line) choice.header_line = told.header_line;
  if (!choice.units_line) choice.units_line = told.units_line;
  return choice;
}

Result<ColumnMap> given_map(const Call& call) {
  if (!call.has("map")) return ColumnMap();
  const auto bytes = read_input(call.value("map"));
  if (!bytes) return fail(bytes.error());
  return read_map(*bytes, call.value("map"));
}

Result<LookReport> look_at(const Call& call, const std::string& path, const ColumnMap& map) {
  const auto table = read_input_table(path, layout_of(call, map));
  if (!table) return fail(table.error());
  return look(*table, map);
}

/// The given map, with what is proved of it.
std::string proposed_map(const LookReport& log) {
  std::map<std::string, std::string> comments = log.map_comments;
  std::string head = "Column map for logs such as " + log.file + ", checked by leafwright look.\n";
  head += log.proved ? "Proved: A recomputed from these columns agrees with A recorded."
                     : "NOT PROVED: see what leafwright look says of it.";
  if (const auto more = comments.find(""); more != comments.end()) head += "\n" + more->second;
  comments[""] = head;
  return map_toml(log.map, comments);
}

Result<void> publish(const std::vector<LookReport>& logs, const Destinations& to,
                     const std::string& map, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, look_json(logs)});
  if (!map.empty()) files.push_back({map, proposed_map(logs.front())});
  if (!files.empty()) {
    if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  }
  if (to.json == "-") return console.print(look_json(logs));
  std::string text;
  for (const LookReport& log : logs) text += (text.empty() ? "" : "\n") + look_text(log);
  return console.print(text);
}

/// Why there is no map.
Error nothing_to_write(const LookReport& log) {
  if (!log.proposal) {
    return {ErrorCode::refused,
            {log.file, 0, 0, ""},
            "no column map to write: the titles say what the columns are",
            "a log with other titles, or a map given with --map",
            "use the file without a map"};
  }
  return {ErrorCode::refused,
          {log.file, 0, 0, ""},
          "no column map to write: " + log.proposal->open.front(),
          "columns under which A and E recorded agree with those recomputed",
          "write the map by hand (docs/formats/maps.md)"};
}

Exit run_look(const Call& call, Console& console) {
  if (call.has("write-map") && call.inputs.size() > 1) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "--write-map with " + std::to_string(call.inputs.size()) + " logs",
                           "one log, as the map is that log's",
                           "logs with the same titles need only one map"});
  }
  if (call.has("write-map") && std::find(call.inputs.begin(), call.inputs.end(),
                                         call.value("write-map")) != call.inputs.end()) {
    return ended(console, {ErrorCode::refused,
                           {},
                           "the map would replace the log " + call.value("write-map"),
                           "another file for --write-map",
                           ""});
  }
  const auto map = given_map(call);
  if (!map) return ended(console, map.error());
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  std::vector<LookReport> logs;
  Exit end = Exit::done;
  for (const std::string& path : call.inputs) {
    auto log = look_at(call, path, *map);
    if (log) {
      logs.push_back(std::move(*log));
    } else {
      console.complain(log.error());
      end = Exit::partly;
    }
  }
  if (logs.empty()) return Exit::unreadable;
  const std::string map_file = call.has("write-map") ? call.value("write-map") : "";
  if (!map_file.empty() && logs.front().map.columns.empty() && logs.front().map.constants.empty()) {
    return ended(console, nothing_to_write(logs.front()));
  }
  if (auto ok = publish(logs, *to, map_file, console); !ok) return ended(console, ok.error());
  const std::optional<MapProposal>& proposal = logs.front().proposal;
  if (!map_file.empty() && proposal && !proposal->complete) {
    console.complain("leafwright: " + map_file + " is not complete: " + proposal->open.front());
    end = Exit::partly;
  }
  return end;
}

}  // namespace

Command look_command() {
  return {
      .name = "look",
      .summary =
          "what is in a log: columns, units, what looks wrong, and whether it is proved right",
      .example = "leafwright look points.csv",
      .inputs = "LOG...",
      .inputs_help = "delimited text or .xlsx; - reads standard input",
      .settings = {{"layout of the files", layout_settings()}},
      .options = {{"json", "FILE|-", "as JSON; with - on standard output instead of the text"},
                  {"force", "", "replace a file that is there already"},
                  {"map", "FILE", "a column map: what the columns are"},
                  {"write-map", "FILE",
                   "the column map as TOML, given or found by physics, with what is proved of it"}},
      .run = run_look};
}

}  // namespace leafwright::cli
