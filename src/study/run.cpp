#include "study/run.hpp"

#include <algorithm>
#include <map>
#include <mutex>

#include "base/text.hpp"
#include "files/read.hpp"
#include "files/xlsx.hpp"
#include "fit/drift.hpp"
#include "fit/jmax.hpp"
#include "fit/joint_leaves.hpp"
#include "fit/operating.hpp"
#include "fit/pathway.hpp"
#include "log/cut.hpp"
#include "ramp/ramp_intervals.hpp"
#include "report/agree_report.hpp"
#include "report/joint_report.hpp"
#include "report/pool_report.hpp"
#include "report/sha256.hpp"
#include "stats/agreement_settings.hpp"
#include "study/agree_step.hpp"
#include "study/pair_step.hpp"
#include "study/parallel.hpp"
#include "study/points_table.hpp"
#include "study/pool_step.hpp"
#include "study/ramp_step.hpp"
#include "study/response_step.hpp"
#include "study/time_zone.hpp"
#include "study/together_step.hpp"

namespace leafwright {
namespace {

/// The share of the work that is done once the logs are read.
constexpr double reading_share = 0.4;
/// The share that is left for leaves fitted together, where a study asks for it.
constexpr double together_share = 0.4;

/// The fit's defaults of this pathway, so that what is printed is what was used.
Result<Pathway> take_pathway(Study& study) {
  auto pathway = find_pathway(study.settings(pathway_settings()).text("pathway"));
  if (!pathway) return pathway;
  for (const auto& [name, value] : pathway_defaults(*pathway)) {
    if (study.settings(fit_settings()).origin(name) != SettingOrigin::default_value) continue;
    for (SectionSettings& section : study.sections) {
      if (!section.has(name)) continue;
      if (auto ok = section.set(name, value, SettingOrigin::default_value); !ok) {
        return fail(ok.error());
      }
    }
  }
  return pathway;
}

Result<void> check_pathway(const Study& study) {
  const Settings& settings = study.settings(pathway_settings());
  if (!settings.is_set("pathway")) {
    return fail(ErrorCode::usage, "no pathway in [fit]", "pathway = \"c3\"",
                "there is no default: a C4 leaf fitted as C3 gives numbers without meaning",
                {study.file, 0, 0, ""});
  }
  return {};
}

class Runner {
 public:
  Runner(StudyRun& run, const RunOptions& options) : run_(run), options_(options) {}

  Result<void> go(std::string_view bytes) {
    const auto pathway = take_pathway(run_.study);
    if (!pathway) return fail(pathway.error());
    const auto fit = fit_method(*pathway, run_.study.settings(fit_settings()));
    if (!fit) return fail(fit.error());
    const auto operating = operating_choice(run_.study.settings(stomata_settings()));
    if (!operating) return fail(operating.error());
    operating_ = *operating;
    run_.inputs.push_back({run_.study.file, bytes.size(), sha256(bytes)});
    if (auto ok = read_shared(); !ok) return ok;
    auto outcomes = read_logs();
    correct_all_ramps(outcomes);
    const auto first = std::find_if(outcomes.begin(), outcomes.end(),
                                    [](const LogOutcome& o) { return o.failed.has_value(); });
    const bool all_failed = std::all_of(outcomes.begin(), outcomes.end(),
                                        [](const auto& o) { return o.failed.has_value(); });
    if (all_failed && first != outcomes.end()) return fail(*first->failed);
    for (LogOutcome& outcome : outcomes) take(outcome);
    name_curves(outcomes);
    if (auto ok = add_pairs(run_); !ok) return ok;
    fit_all_curves(*fit);
    respond();
    compare_methods(*fit);
    pool_groups();
    fit_together();
    return {};
  }

 private:
  Result<void> read_shared() {
    const Study& study = run_.study;
    context_.study = &study;
    context_.time = time_choice(study.settings(cut_settings()));
    if (!study.time_zone.empty()) {
      auto rule = zone_rule(study.time_zone);
      if (!rule) return fail(rule.error());
      context_.time.zone = std::move(*rule);
      context_.time.zone_name = study.time_zone;
    }
    run_.about.study = study.file;
    run_.about.title = study.title;
    run_.about.time_zone = study.time_zone;
    if (has_ramps()) run_.about.sample_columns.emplace_back("method");
    if (!study.samples.given()) return {};
    auto bytes = read_file(study.samples.path);
    if (!bytes) return fail(bytes.error());
    run_.inputs.push_back({study.samples.path, bytes->size(), sha256(*bytes)});
    const auto table = open_table(std::move(*bytes), study.samples.path);
    if (!table) return fail(table.error());
    auto samples = read_samples(*table);
    if (!samples) return fail(samples.error());
    samples_ = std::move(*samples);
    context_.samples = &*samples_;
    run_.notes.insert(run_.notes.end(), samples_->notes.begin(), samples_->notes.end());
    for (const std::string& name : samples_->other) {
      if (!has_ramps() || name != "method") run_.about.sample_columns.push_back(name);
    }
    return {};
  }

  std::vector<LogOutcome> read_logs() {
    const auto& logs = run_.study.logs;
    std::vector<LogOutcome> outcomes(logs.size());
    records_.resize(logs.size());
    std::mutex guard;
    std::size_t done = 0;
    in_parallel(logs.size(), options_.threads, [&](std::size_t i) {
      if (options_.cancel != nullptr && options_.cancel->raised()) return;
      outcomes[i] = process_log(logs[i], records_[i]);
      const std::lock_guard<std::mutex> lock(guard);
      report_progress(
          options_.progress,
          reading_share * static_cast<double>(++done) / static_cast<double>(logs.size()),
          logs[i].file.written);
    });
    return outcomes;
  }

  /// The one place where roles part ways. Records wait until all are read: a ramp needs its
  /// empties.
  LogOutcome process_log(const StudyLog& log, std::shared_ptr<RecordLog>& record) const {
    if (log.role == LogRole::steps) return process_steps_log(log, context_);
    LogOutcome outcome;
    record = read_record_log(log, context_, outcome);
    return outcome;
  }

  /// Gas paths from the empty records, then every ramp. Ramps come in the order of the logs.
  void correct_all_ramps(std::vector<LogOutcome>& outcomes) {
    const auto& logs = run_.study.logs;
    std::vector<std::shared_ptr<RecordLog>> empties;
    for (std::size_t i = 0; i < logs.size(); ++i) {
      if (logs[i].role == LogRole::empty && records_[i]) empties.push_back(records_[i]);
    }
    StudyPaths paths = study_paths(empties, run_.study);
    std::vector<std::vector<RampOutcome>> made(logs.size());
    in_parallel(logs.size(), options_.threads, [&](std::size_t i) {
      if (logs[i].role != LogRole::ramp || !records_[i]) return;
      correct_ramps(*records_[i], paths, context_, outcomes[i], made[i]);
    });
    for (std::size_t i = 0; i < logs.size(); ++i) {
      if (logs[i].role == LogRole::empty) tell_empty(paths, logs[i], outcomes[i]);
    }
    for (auto& of_log : made) {
      std::move(of_log.begin(), of_log.end(), std::back_inserter(run_.about.ramps));
    }
    run_.about.paths = std::move(paths.outcomes);
    for (const PathOutcome& path : run_.about.paths) {
      if (path.path) continue;
      run_.complaints.push_back("leafwright: gas path of " + path.name + ": " + path.failed);
      run_.about.left_out.push_back("the gas path of " + path.name +
                                    " was not found: " + path.failed);
    }
  }

  static void tell_empty(const StudyPaths& paths, const StudyLog& log, LogOutcome& outcome) {
    if (outcome.failed) return;
    if (outcome.points) {  // curves of it that are no record
      for (const UnreadCurveOf& failed : outcome.points->failed) {
        outcome.record.problems.push_back(failed.file + ": " + failed.why);
      }
      outcome.points.reset();
    }
    outcome.record.did = "nothing: it holds no record of an empty chamber";
    for (const PathOutcome& path : paths.outcomes) {
      const auto& names = path.records;
      if (std::find(names.begin(), names.end(), log.file.path) == names.end()) continue;
      outcome.record.did = path.path ? "the gas path: " + path.verdict : "no gas path";
    }
  }

  void take(LogOutcome& outcome) {
    LogRecord& record = outcome.record;
    for (InputFile& input : outcome.inputs) {
      const bool known = std::any_of(run_.inputs.begin(), run_.inputs.end(),
                                     [&](const InputFile& i) { return i.path == input.path; });
      if (!known) run_.inputs.push_back(std::move(input));
    }
    if (outcome.failed) {
      record.failed = outcome.failed->text();
      run_.unread.push_back({record.file, record.failed});
      run_.complaints.push_back(record.failed);
    }
    for (const std::string& problem : record.problems) {
      run_.problems.push_back(problem);
      run_.complaints.push_back(problem);
    }
    for (std::size_t i = 0; i < outcome.rules.size(); ++i) {
      if (run_.about.rules.size() <= i) {
        run_.about.rules.push_back(outcome.rules[i]);
      } else {
        run_.about.rules[i].rows += outcome.rules[i].rows;
      }
    }
    run_.about.logs.push_back(record);
  }

  /// An id that stands in two logs becomes LOG:ID in both.
  void name_curves(std::vector<LogOutcome>& outcomes) {
    std::map<std::string, std::size_t> seen;
    for (const LogOutcome& outcome : outcomes) {
      if (!outcome.points) continue;
      for (const Curve& curve : outcome.points->curves) ++seen[curve.curve_id];
    }
    std::vector<std::string> twice;
    for (const auto& [id, n] : seen) {
      if (n > 1) twice.push_back(id);
    }
    if (!twice.empty()) {
      run_.notes.push_back({NoteLevel::caution, "same-curve-id",
                            counted(twice.size(), "curve id") + " in more than one log (" +
                                join(twice, ", ", 5) + "); each became LOG:ID"});
    }
    std::vector<NamedPoints> named;
    for (LogOutcome& outcome : outcomes) {
      if (!outcome.points) continue;
      const std::string& log = outcome.record.file;
      NamedPoints points{&*outcome.points, {}, log, has_ramps() ? outcome.record.role : ""};
      for (const Curve& curve : outcome.points->curves) {
        points.ids.push_back(seen[curve.curve_id] > 1 ? log + ":" + curve.curve_id
                                                      : curve.curve_id);
      }
      for (RampOutcome& ramp : run_.about.ramps) {
        if (ramp.log == log && seen[ramp.name] > 1) ramp.name = log + ":" + ramp.name;
      }
      named.push_back(std::move(points));
    }
    run_.points_csv = points_table(named, context_.samples);
    run_.points_columns = points_table_columns(named, context_.samples);
    for (NamedPoints& points : named) collect(points);
  }

  [[nodiscard]] bool has_ramps() const {
    const auto& logs = run_.study.logs;
    return std::any_of(logs.begin(), logs.end(),
                       [](const StudyLog& log) { return log.role == LogRole::ramp; });
  }

  /// Rows that are out or marked. Of a ramp whole stretches are: one line each.
  void list_screened(const Curve& curve, const std::vector<std::string>& flags, bool ramp) {
    std::size_t n = 0;  // rows of the stretch that ends with the last entry
    const CurveRow* before = nullptr;
    for (const CurveRow& row : curve.rows) {
      const std::string& marks = flags[row.row];
      if (row.use && marks.empty()) continue;
      const bool goes_on = ramp && before != nullptr && before->row + 1 == row.row &&
                           before->why == row.why && flags[before->row] == marks;
      before = &row;
      if (!goes_on) {
        n = 1;
        run_.about.screened.push_back(
            {curve.curve_id, row.place.text(), row.use, row.why, marks, 1});
        continue;
      }
      run_.about.screened.back().rows = ++n;
    }
  }

  void collect(NamedPoints& named) {
    // The table of points has been written: the curves may move on.
    LogPoints& points = *named.points;
    for (std::size_t c = 0; c < points.curves.size(); ++c) {
      Curve& curve = points.curves[c];
      if (samples_) {
        if (const Sample* sample = samples_->find(curve.curve_id, named.log)) {
          run_.about.samples[named.ids[c]] = sample->other;
        }
      }
      curve.curve_id = named.ids[c];
      if (!named.method.empty()) {
        run_.about.samples[named.ids[c]].emplace("method",
                                                 named.method);  // a column of that name stays
      }
      list_screened(curve, points.flags[c], named.method == role_name(LogRole::ramp));
      run_.curves.push_back(std::move(curve));
    }
    for (UnreadCurveOf& failed : points.failed) {
      run_.complaints.push_back("leafwright: curve '" + failed.curve_id + "': " + failed.why);
      run_.unread_curves.push_back(std::move(failed));
    }
  }

  void fit_all_curves(const FitMethod& fit) {
    const Progress progress = [this](double done, std::string_view what) {
      const double end = run_.study.section("together").stated() ? 1 - together_share : 1;
      report_progress(options_.progress, reading_share + (end - reading_share) * done, what);
    };
    run_.campaign = fit_all(run_.curves, fit, progress, options_.cancel);
    widen_ramps();
    widen_pairs(run_);
    find_operating_points(run_.campaign, run_.curves, operating_);
    find_gsw_drifts(run_.campaign, run_.curves,
                    run_.study.settings(stomata_settings()).number("gsw-steady") / 100);
    for (const FailedCurve& failed : run_.campaign.failed) {
      run_.complaints.push_back("leafwright: curve '" + failed.curve_id + "': " + failed.why);
    }
  }

  /// Intervals of ramps: their points share noise.
  void widen_ramps() {
    const Settings& settings = run_.study.settings(fit_settings());
    const RampIntervalOptions options{settings.number("level"),
                                      settings.text("rday").starts_with("fraction:")};
    for (const RampOutcome& ramp : run_.about.ramps) {
      if (!ramp.ramp) continue;
      for (CurveFit& fit : run_.campaign.fits) {
        if (fit.curve_id != ramp.name) continue;
        widen_to_ramp_errors(*ramp.ramp, ramp.record_row, fit, options);
        update_jmax(fit);
      }
    }
  }

  /// Responses come last and stop nothing: the fits are there already.
  void respond() {
    auto responses = study_responses(run_);
    if (!responses) {
      run_.about.left_out.push_back("no response was fitted: " + responses.error().text());
      run_.complaints.push_back("leafwright: [response]: " + responses.error().text());
      return;
    }
    run_.about.responses = std::move(*responses);
    if (!run_.about.responses) return;
    run_.about.response_settings = &run_.study.settings(response_settings());
    for (const FailedResponse& failed : run_.about.responses->failed) {
      run_.complaints.push_back("leafwright: response of " + failed.of +
                                (failed.group.empty() ? "" : " in " + failed.group) + ": " +
                                failed.why);
    }
  }

  /// So does the comparison of methods.
  void compare_methods(const FitMethod& fit) {
    const Study& study = run_.study;
    if (!study.section("agree").stated()) return;
    report_progress(options_.progress, 1, "agreement of methods");
    auto agreement = study_agreement(run_, fit);
    if (!agreement) {
      run_.about.left_out.push_back("methods were not compared: " + agreement.error().text());
      run_.complaints.push_back("leafwright: [agree]: " + agreement.error().text());
      return;
    }
    run_.about.agreement = std::move(*agreement);
    run_.about.agree_settings = &study.settings(agreement_settings());
    for (const std::string& why : run_.about.agreement->not_compared) {
      run_.complaints.push_back("leafwright: not compared: " + why);
    }
  }

  /// And means of groups.
  void pool_groups() {
    const Study& study = run_.study;
    if (!study.section("pool").stated()) return;
    auto pooled = study_pool(run_);
    if (!pooled) {
      run_.about.left_out.push_back("groups were not pooled: " + pooled.error().text());
      run_.complaints.push_back("leafwright: [pool]: " + pooled.error().text());
      return;
    }
    run_.about.pool = std::move(*pooled);
    auto& settings = run_.about.group_settings;
    settings.push_back(&study.settings(pool_settings()));
    settings.push_back(&study.settings(pool_rows_settings()));
    for (const FailedPool& failed : run_.about.pool->run->failed) {
      run_.complaints.push_back(
          "leafwright: [pool]: " + (failed.group.empty() ? "" : failed.group + ": ") +
          failed.symbol + ": " + failed.why);
    }
  }

  /// And leaves fitted together, which takes seconds.
  void fit_together() {
    const Study& study = run_.study;
    if (!study.section("together").stated()) return;
    const Progress progress = [this](double done, std::string_view what) {
      report_progress(options_.progress, 1 - together_share * (1 - done), what);
    };
    auto together = study_together(run_, progress, options_.cancel);
    if (!together) {
      run_.about.left_out.push_back("leaves were not fitted together: " + together.error().text());
      run_.complaints.push_back("leafwright: [together]: " + together.error().text());
      return;
    }
    run_.about.together = std::move(*together);
    auto& settings = run_.about.group_settings;
    settings.push_back(&study.settings(joint_settings()));
    settings.push_back(&study.settings(together_rows_settings()));
    for (const FailedCurve& failed : run_.about.together->run->failed) {
      run_.complaints.push_back("leafwright: [together]: " + failed.curve_id + ": " + failed.why);
    }
    for (const JointGroupRun& one : run_.about.together->run->groups) {
      if (one.group.converged) continue;
      const std::string who = one.group.group.empty() ? "all leaves" : one.group.group;
      run_.complaints.push_back("leafwright: [together]: " + who +
                                ": not sampled well enough: its numbers are not to be used; raise "
                                "sweeps in [together]");
    }
  }

  StudyRun& run_;
  const RunOptions& options_;
  StudyContext context_;
  OperatingChoice operating_;
  std::optional<Samples> samples_;
  std::vector<std::shared_ptr<RecordLog>> records_;  ///< by log; null for logs of steps
};

}  // namespace

FitDocument StudyRun::document() const {
  FitDocument out;
  out.curves = curves;
  out.campaign = &campaign;
  for (const SectionSettings& section : study.sections) {
    if (section.spec().name == "pool" || section.spec().name == "together") continue;
    for (const Settings& settings : section.tables()) {
      // What comes after the fits is no part of them: its settings stand with it.
      if (&settings == &study.settings(response_settings())) continue;
      if (&settings != &study.settings(agreement_settings())) out.settings.push_back(&settings);
    }
  }
  out.inputs = inputs;
  out.unread = unread;
  out.unread_curves = unread_curves;
  out.problems = problems;
  out.notes = notes;
  out.run = &about;
  return out;
}

bool StudyRun::agreement_is_whole() const {
  return about.agreement == nullptr || about.agreement->not_compared.empty();
}

bool StudyRun::groups_are_whole() const {
  if (about.pool && !about.pool->run->failed.empty()) return false;
  if (!about.together) return true;
  const JointRun& joint = *about.together->run;
  return joint.failed.empty() &&
         std::all_of(joint.groups.begin(), joint.groups.end(),
                     [](const JointGroupRun& one) { return one.group.converged; });
}

Result<std::unique_ptr<StudyRun>> run_study(std::string_view bytes, const std::string& file,
                                            const RunOptions& options) {
  auto study = read_study(bytes, file);
  if (!study) return fail(study.error());
  if (auto ok = check_pathway(*study); !ok) return fail(ok.error());
  if (auto ok = check_response_section(*study); !ok) return fail(ok.error());
  if (auto ok = check_ramp_section(*study); !ok) return fail(ok.error());
  if (auto ok = check_pairs(*study); !ok) return fail(ok.error());
  if (auto ok = check_agree_section(*study); !ok) return fail(ok.error());
  if (auto ok = check_pool_section(*study); !ok) return fail(ok.error());
  if (auto ok = check_together_section(*study); !ok) return fail(ok.error());
  auto run = std::make_unique<StudyRun>();
  run->study = std::move(*study);
  if (auto ok = Runner(*run, options).go(bytes); !ok) return fail(ok.error());
  return run;
}

}  // namespace leafwright
