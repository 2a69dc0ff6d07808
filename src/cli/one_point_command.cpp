#include "cli/one_point_command.hpp"

#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/fit_inputs.hpp"
#include "cli/outputs.hpp"
#include "fit/one_point.hpp"
#include "report/one_point_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_one_point, of_points, of_layout };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

/// Rows stand for themselves, so that Rday may differ between them.
PointsOptions read_options(const Call& call) {
  const std::string& rday = call.settings[of_one_point].text("rday");
  constexpr std::string_view prefix = "column:";
  std::optional<std::string> column;
  if (rday.starts_with(prefix)) column = rday.substr(prefix.size());
  PointsOptions out = points_options(call.settings[of_points], column);
  out.by_row = true;
  return out;
}

Result<void> publish(const OnePointDocument& document, const Destinations& to, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, one_point_csv(document)});
    files.push_back({meta_path(to.csv), one_point_meta_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, one_point_json(document)});
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.json == "-") return console.print(one_point_json(document));
  if (to.csv == "-") return console.print(one_point_csv(document));
  return console.print(one_point_text(document));
}

/// Refused rows on standard error: a few in full, the others counted. True where there is any.
bool tell_refused(const OnePointRun& run, Console& console) {
  constexpr std::size_t listed = 10;
  std::size_t refused = 0;
  for (const OnePoint& point : run.points) {
    if (point.status != OnePointStatus::refused) continue;
    if (++refused <= listed) {
      const std::string where = point.place.text();
      console.complain("leafwright: " + (where.empty() ? point.curve_id : where) + ": " +
                       join(point.why, "; "));
    }
  }
  if (refused > listed) {
    console.complain("leafwright: " + counted(refused - listed, "further row") +
                     " refused; the outputs say why");
  }
  return refused > 0;
}

Exit run_one_point(const Call& call, Console& console) {
  const auto options = one_point_options(call.settings[of_one_point]);
  if (!options) return ended(console, options.error());
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, call.inputs); !ok) return ended(console, ok.error());
  const auto inputs = read_inputs(call.inputs, layout_choice(call.settings[of_layout]),
                                  read_options(call), console);
  if (!inputs) return ended(console, inputs.error());
  const auto run = one_points(inputs->curves, *options);
  if (!run) return ended(console, run.error());
  OnePointDocument document;
  document.run = &*run;
  document.options = &*options;
  for (const Settings& settings : call.settings) document.settings.push_back(&settings);
  document.inputs = inputs->files;
  document.unread_curves = inputs->unread_curves;
  document.problems = inputs->problems;
  document.notes = inputs->notes;
  for (const Curve& curve : inputs->curves) {
    for (const Note& note : curve.notes) {
      document.notes.push_back({note.level, note.about, curve.curve_id + ": " + note.text});
    }
  }
  if (auto ok = publish(document, *to, console); !ok) return ended(console, ok.error());
  const bool refused = tell_refused(*run, console);
  const bool all = !refused && inputs->unread.empty() && inputs->unread_curves.empty();
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command one_point_command() {
  return {.name = "one-point",
          .summary = "Vcmax of C3 leaves from single records at saturating light",
          .example =
              "leafwright one-point survey.csv --rday fraction:0.015 --saturating-light "
              "1200 --out vcmax.csv",
          .inputs = "POINTS...",
          .inputs_help =
              "records with the columns A, Ci, Tleaf and Patm, and Qin and curve_id "
              "where there are; - reads standard input",
          .settings = {{"one point", one_point_settings()},
                       {"rows", points_settings()},
                       {"layout of the files", layout_settings()}},
          .options = {{"json", "FILE|-",
                       "everything as JSON; with - on standard output instead of the text"},
                      {"out", "CSV|-", "one row a value, with settings in CSV.meta.json"},
                      {"force", "", "replace files that are there already"}},
          .run = run_one_point};
}

}  // namespace leafwright::cli
