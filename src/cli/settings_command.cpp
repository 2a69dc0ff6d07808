#include "cli/settings_command.hpp"

#include <vector>

#include "air/settings.hpp"
#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/help.hpp"
#include "cli/record_inputs.hpp"
#include "fit/fit.hpp"
#include "fit/joint_leaves.hpp"
#include "fit/one_point.hpp"
#include "fit/operating.hpp"
#include "fit/response_table.hpp"
#include "log/cut.hpp"
#include "log/equalise.hpp"
#include "log/points.hpp"
#include "log/screen.hpp"
#include "log/steps.hpp"
#include "plan/rehearse_settings.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/settings.hpp"
#include "report/settings_report.hpp"
#include "stats/agreement_settings.hpp"
#include "stats/pool_run.hpp"
#include "study/sections.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

/// Every table of settings there is, in the order of the work.
std::vector<SettingGroup> groups() {
  return {
      {"Leaves", "What was measured.", pathway_settings()},
      {"Curves", "Which rows take part, and how they are grouped.", points_settings()},
      {"Cutting", "How the rows of a log become curves.", cut_settings()},
      {"Fluxes",
       "E, A, gsw and Ci from mole fractions. What is left open may come from the samples table, "
       "a column of the log or the instrument.",
       flux_settings()},
      {"Equalisation", "When the two cells were given the same air, and by how much they differed.",
       equalise_settings()},
      {"Screening", "Which rows are left out, and which are flagged and used.", screen_settings()},
      {"Continuous logs", "In a study: is a log of steps a continuous one?", continuous_settings()},
      {"Steps", "Plateaus of CO2 in a continuous log.", step_settings()},
      {"Layout", "How the text of a file is laid out; what is not given is detected.",
       layout_settings()},
      {"Fit", "How the model is fitted to each curve.", fit_settings()},
      {"Stomata", "What a fitted curve says of the way of CO2 into the leaf.", stomata_settings()},
      {"Leaves together", "How the leaves of a group are sampled together.", joint_settings()},
      {"Leaves together, in a study", "Which curves [together] takes, and their group.",
       together_rows_settings()},
      {"One point", "Vcmax from single records at saturating light.", one_point_settings()},
      {"Means of groups", "How fits of single leaves make the mean of a group.", pool_settings()},
      {"Means of groups, in a study", "Which curves [pool] takes.", pool_rows_settings()},
      {"Response", "Which response is fitted to which values.", response_settings()},
      {"Agreement", "How two methods on the same leaves are compared.", agreement_settings()},
      {"Records", "Which rows of a log are one record of a ramp.", record_settings()},
      {"Gas path", "How lag and offsets are found in records of the empty chamber.",
       path_settings()},
      {"Advice", "How the two gas paths could be made equally late.", advice_settings()},
      {"Correction of ramps", "From a leaf's ramp to points of A against Ci.",
       correction_settings()},
      {"Conditions of empty records", "Where an empty record stops fitting the leaf's.",
       condition_settings()},
      {"Figures", "How figures look; no number depends on them.", figure_settings()},
      {"Rehearsal: CO2 source", "What the simulated source sends out over time.",
       rehearse_source_settings()},
      {"Rehearsal: leaf", "The simulated leaf; its numbers are the truth of the record.",
       rehearse_leaf_settings()},
      {"Rehearsal: chamber and analysers", "The simulated instrument; it is invented.",
       rehearse_chamber_settings()},
      {"Rehearsal: record", "How the simulated record is logged, and its noise.",
       rehearse_record_settings()}};
}

Exit print(Console& console, const std::string& text) {
  if (auto ok = console.print(text); !ok) {
    console.complain(ok.error());
    return exit_for(ok.error().code);
  }
  return Exit::done;
}

Exit run_settings(const Call& call, Console& console) {
  if (call.has("json")) return print(console, settings_json(groups()));
  return print(console, call.has("markdown") ? settings_page() : settings_text(groups()));
}

Exit run_help(const Call& call, Console& console) {
  if (call.has("markdown")) return print(console, commands_markdown());
  if (call.inputs.empty()) return print(console, program_help());
  const std::string& name = call.inputs.front();
  std::vector<std::string> known;
  for (const Command& command : commands()) {
    if (command.name == name) return print(console, command_help(command));
    known.push_back(command.name);
  }
  console.complain(Error{ErrorCode::usage,
                         {},
                         "there is no command '" + shortened(name) + "'",
                         "",
                         suggest_name(name, known)});
  return Exit::usage;
}

}  // namespace

std::string settings_page() {
  return settings_markdown(groups());
}

Command settings_command() {
  return {.name = "settings",
          .summary = "every setting with its default, range, unit and source",
          .example = "leafwright settings",
          .options = {{"json", "", "as JSON"}, {"markdown", "", "as the page docs/settings.md"}},
          .run = run_settings};
}

Command help_command() {
  return {.name = "help",
          .summary = "what there is to call",
          .example = "leafwright help fit",
          .inputs = "[COMMAND]",
          .inputs_help = "one of the commands; without it all are listed",
          .options = {{"markdown", "", "all of --help as the page docs/commands.md"}},
          .run = run_help};
}

}  // namespace leafwright::cli
