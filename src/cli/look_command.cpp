#include "cli/look_command.hpp"

#include "cli/console.hpp"
#include "cli/input.hpp"
#include "cli/outputs.hpp"
#include "log/look.hpp"
#include "report/look_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<LookReport> look_at(const std::string& path, const LayoutChoice& layout) {
  const auto table = read_input_table(path, layout);
  if (!table) return fail(table.error());
  return look(*table);
}

Result<void> publish(const std::vector<LookReport>& logs, const Destinations& to,
                     Console& console) {
  if (to.json == "-") return console.print(look_json(logs));
  if (!to.json.empty()) {
    if (auto ok = write_outputs({{to.json, look_json(logs)}}, to.force, console); !ok) return ok;
  }
  std::string text;
  for (const LookReport& log : logs) text += (text.empty() ? "" : "\n") + look_text(log);
  return console.print(text);
}

Exit run_look(const Call& call, Console& console) {
  if (call.has("write-map")) {
    return ended(console, {ErrorCode::usage,
                           {},
                           "--write-map",
                           "--json FILE for what was found",
                           "this version does not write column maps yet"});
  }
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  std::vector<LookReport> logs;
  Exit end = Exit::done;
  for (const std::string& path : call.inputs) {
    auto log = look_at(path, layout_choice(call.settings.front()));
    if (log) {
      logs.push_back(std::move(*log));
    } else {
      console.complain(log.error());
      end = Exit::partly;
    }
  }
  if (logs.empty()) return Exit::unreadable;
  if (auto ok = publish(logs, *to, console); !ok) return ended(console, ok.error());
  return end;
}

}  // namespace

Command look_command() {
  return {.name = "look",
          .summary = "what is in a log: layout, columns, units, ranges, and what looks wrong",
          .example = "leafwright look points.csv",
          .inputs = "LOG...",
          .inputs_help = "delimited text or .xlsx; - reads standard input",
          .settings = {{"layout of the files", layout_settings()}},
          .options = {{"json", "FILE|-", "as JSON; with - on standard output instead of the text"},
                      {"force", "", "replace a file that is there already"},
                      {"write-map", "FILE", "not in this version: a column map for other titles"}},
          .run = run_look};
}

}  // namespace leafwright::cli
