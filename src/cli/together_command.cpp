#include "cli/together_command.hpp"

#include "cli/console.hpp"
#include "cli/fit_inputs.hpp"
#include "cli/outputs.hpp"
#include "cli/platform.hpp"
#include "fit/joint_leaves.hpp"
#include "report/joint_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_points, of_layout, of_fit, of_joint };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

Result<void> publish(const JointDocument& document, const Destinations& to, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, joint_csv(document)});
    files.push_back({meta_path(to.csv), joint_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, joint_json(document)});
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(joint_json(document));
  if (to.csv == "-") return console.print(joint_csv(document));
  return console.print(joint_text(document));
}

Exit run_together(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  PointsOptions options = points_options(call.settings[of_points]);
  if (call.has("group")) options.group_column = call.value("group");
  const auto inputs =
      read_inputs(call.inputs, layout_choice(call.settings[of_layout]), options, console);
  if (!inputs) return ended(console, inputs.error());
  const auto run = fit_jointly(inputs->curves, call.settings[of_fit], call.settings[of_joint],
                               console.progress());
  if (!run) return ended(console, run.error());
  for (const FailedCurve& failed : run->failed) {
    console.complain("leafwright: " + failed.curve_id + ": " + failed.why);
  }
  JointDocument document;
  document.run = &*run;
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  document.inputs = inputs->files;
  const std::string& at25 = call.settings[of_fit].text("at25");
  document.temperature = at25 == "none" ? "at leaf temperature" : "at 25 degC by " + at25;
  document.level = call.settings[of_fit].number("level");
  if (auto ok = publish(document, *to, console); !ok) return ended(console, ok.error());
  const bool all = run->failed.empty() && inputs->unread.empty() && inputs->unread_curves.empty();
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command together_command() {
  return {.name = "together",
          .summary = "all leaves of a group fitted together, for single poor C3 curves",
          .example = "leafwright together points.csv --group treatment --out together.csv",
          .inputs = "POINTS...",
          .inputs_help = "A-Ci points as for 'fit', one curve a leaf; - reads standard input",
          .settings = {{"rows", points_settings()},
                       {"layout of the files", layout_settings()},
                       {"fit", fit_settings()},
                       {"sampler", joint_settings()}},
          .options = {{"group", "COLUMN",
                       "column that names each leaf's group; without it all leaves are one group"},
                      {"json", "FILE|-",
                       "everything as JSON; with - on standard output instead of the text"},
                      {"out", "CSV|-", "one row a value, with settings in CSV.meta.json"},
                      {"force", "", "replace files that are there already"}},
          .run = run_together};
}

}  // namespace leafwright::cli
