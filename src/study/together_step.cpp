#include "study/together_step.hpp"

#include <algorithm>
#include <set>

#include "base/text.hpp"
#include "fit/joint_leaves.hpp"
#include "log/points.hpp"
#include "study/role_choice.hpp"

namespace leafwright {
namespace {

constexpr std::size_t names_told = 8;

struct Together {
  JointRun run;
  JointDocument document;
};

/// Writes each curve's group into its rows; curves without one go.
Result<Notes> take_groups(const StudyRun& run, const std::string& column,
                          std::vector<Curve>& curves) {
  const auto& known = run.about.sample_columns;
  if (std::find(known.begin(), known.end(), column) == known.end()) {
    return fail(
        ErrorCode::usage,
        "group = \"" + column + "\" in [together] is no column of " + run.study.samples.path,
        "a column of the samples table", suggest_name(column, known), {run.study.file, 0, 0, ""});
  }
  std::vector<Curve> kept;
  std::vector<std::string> without;
  for (Curve& curve : curves) {
    const auto sample = run.about.samples.find(curve.curve_id);
    std::string group;
    if (sample != run.about.samples.end()) {
      const auto cell = sample->second.find(column);
      if (cell != sample->second.end() && !is_missing(cell->second)) group = cell->second;
    }
    if (group.empty()) {
      without.push_back(curve.curve_id);
      continue;
    }
    for (CurveRow& row : curve.rows) row.group = group;
    kept.push_back(std::move(curve));
  }
  curves = std::move(kept);
  Notes notes;
  if (!without.empty()) {
    notes.push_back({NoteLevel::caution, "no-label",
                     counted(without.size(), "curve") +
                         " without a group left out: " + join(without, ", ", names_told)});
  }
  return notes;
}

/// Each group begins at 0 anew: told as one work.
Progress over_groups(const Progress& progress, const std::vector<Curve>& curves) {
  std::set<std::string> groups;
  for (const Curve& curve : curves) {
    if (!curve.rows.empty()) groups.insert(curve.rows.front().group);
  }
  const double all = static_cast<double>(std::max<std::size_t>(groups.size(), 1));
  return [&progress, all, done = 0.0, last = 0.0](double share, std::string_view what) mutable {
    if (share < last) done = std::min(done + 1, all - 1);
    last = share;
    report_progress(progress, (done + share) / all, what);
  };
}

}  // namespace

Result<void> check_together_section(const Study& study) {
  if (!study.section("together").stated()) return {};
  const Place place{study.file, 0, 0, ""};
  if (study.settings(pathway_settings()).text("pathway") == "c4") {
    return fail(ErrorCode::usage, "[together] in a study of C4 leaves", "pathway = \"c3\"",
                "leaves are fitted together with the C3 model only; remove the section", place);
  }
  const Settings& rows = study.settings(together_rows_settings());
  if (rows.is_set("group") && !study.samples.given()) {
    return fail(
        ErrorCode::usage,
        "group = \"" + rows.text("group") + "\" in [together], and the study has no samples table",
        "[samples] with a file that has curve_id and this column", "", place);
  }
  return {};
}

Result<std::shared_ptr<const JointDocument>> study_together(const StudyRun& run,
                                                            const Progress& progress,
                                                            const Cancel* cancel) {
  const Settings& joint = run.study.settings(joint_settings());
  const Settings& rows = run.study.settings(together_rows_settings());
  const Settings& fit = run.study.settings(fit_settings());
  auto choice = choose_role(run, rows.text("role"));
  if (!choice) return fail(choice.error());
  Notes notes = choice->notes();
  if (rows.is_set("group")) {
    auto told = take_groups(run, rows.text("group"), choice->curves);
    if (!told) return fail(told.error());
    notes.insert(notes.end(), told->begin(), told->end());
  }
  const Progress over_all = over_groups(progress, choice->curves);
  auto fitted = fit_jointly(choice->curves, fit, joint, over_all, cancel);
  if (!fitted) return fail(fitted.error());
  auto out = std::make_shared<Together>();
  out->run = std::move(*fitted);
  out->run.notes.insert(out->run.notes.begin(), notes.begin(), notes.end());
  out->document.run = &out->run;
  out->document.settings = {&joint, &rows, &fit};
  out->document.inputs = run.inputs;
  const std::string& at25 = fit.text("at25");
  out->document.temperature = at25 == "none" ? "at leaf temperature" : "at 25 degC by " + at25;
  out->document.level = fit.number("level");
  return std::shared_ptr<const JointDocument>(out, &out->document);
}

}  // namespace leafwright
