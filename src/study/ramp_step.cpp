#include "study/ramp_step.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "air/settings.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/fit.hpp"
#include "log/flux_inputs.hpp"
#include "log/points.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/identify.hpp"
#include "ramp/ramp_rows.hpp"
#include "ramp/settings.hpp"
#include "report/path_report.hpp"
#include "report/ramp_report.hpp"

namespace leafwright {
namespace {

void tell(const std::vector<Error>& problems, LogRecord& record) {
  for (const Error& problem : problems) record.problems.push_back(problem.text());
}

void append(Notes& to, const Notes& more) {
  to.insert(to.end(), more.begin(), more.end());
}

void fail_curve(LogOutcome& outcome, const std::string& id, const std::string& why) {
  if (!outcome.points) outcome.points.emplace();
  outcome.points->failed.push_back({outcome.record.file, id, why});
}

Result<void> open_and_cut(const StudyLog& entry, const StudyContext& context, RecordLog& out,
                          LogOutcome& outcome) {
  auto opened = open_log(entry, outcome);
  if (!opened) return fail(opened.error());
  out.opened = std::move(*opened);
  auto axis = time_axis(out.opened.log, context.time);
  if (!axis) return fail(axis.error());
  out.axis = std::move(*axis);
  append(outcome.record.notes, out.axis.notes);
  tell(out.axis.problems, outcome.record);
  const Study& study = *context.study;
  const PointsOptions points = points_options(study.settings(points_settings()));
  auto cut = cut_log(out.opened.log, out.axis, context.samples,
                     cut_choice(study.settings(cut_settings()), points.curve_column), context.time);
  if (!cut) return fail(cut.error());
  out.cut = std::move(*cut);
  outcome.record.cut = cut_by_name(out.cut.by);
  append(outcome.record.notes, out.cut.notes);
  return {};
}

/// Area, boundary layer and the forms of the equations for one ramp, by the study's precedence.
struct RampConditions {
  double area = 0;
  std::optional<double> gbw;
  FluxOptions air;
};

class RampCorrector {
 public:
  RampCorrector(const RecordLog& ramps, const StudyPaths& paths, const StudyContext& context,
                LogOutcome& outcome)
      : ramps_(ramps),
        paths_(paths),
        context_(context),
        study_(*context.study),
        outcome_(outcome),
        choice_(flux_choice(study_.settings(flux_settings()), study_.settings(points_settings()))) {
    source_.log = &ramps.opened.log;
    source_.axis = &ramps.axis;
    source_.cut = &ramps.cut;
    source_.samples = context.samples;
    source_.instrument = ramps.opened.instrument ? &*ramps.opened.instrument : nullptr;
  }

  Result<void> go(std::vector<RampOutcome>& made) {
    auto options = correction_options(study_.settings(correction_settings()));
    if (!options) return fail(options.error());
    options->conditions = condition_options(study_.settings(condition_settings()));
    const Log& log = ramps_.opened.log;
    rows_ = blank_flux_rows(log.rows());
    for (std::vector<double>* column : {&rows_.Tleaf, &rows_.Patm, &rows_.area}) {
      column->assign(log.rows(), std::nan(""));
    }
    std::vector<char> in_record(log.rows(), 0);
    for (std::size_t i = 0; i < ramps_.records.size(); ++i) {
      for (const std::size_t row : ramps_.records[i].rows) in_record[row] = 1;
      made.push_back(correct_one(i, *options));
    }
    leave_out_strays(in_record, rows_);
    Cut kept = ramps_.cut;
    kept.curves.clear();
    for (const CutCurve& curve : ramps_.cut.curves) {
      const auto notes = notes_.find(curve.curve_id);
      if (notes == notes_.end()) continue;  // failed, and said so
      kept.curves.push_back(curve);
      append(kept.curves.back().notes, notes->second);
    }
    for (const ValueSource& from : sources_) {
      outcome_.record.sources.push_back({from.quantity, value_from_name(from.from), from.text,
                                         from.others, from.disagree, from.curves});
    }
    return add_points(ramps_.opened, kept, rows_, context_, &ramps_.axis.seconds, outcome_);
  }

 private:
  Result<RampConditions> conditions_of(const std::string& id, const RampRecord& record) {
    FluxInputs inputs(source_, choice_);
    auto curve = inputs.curve(id, record.rows, sources_);
    if (!curve) return fail(curve.error());
    FluxInput probe;
    inputs.fill_curve(record.rows[record.rows.size() / 2], *curve, probe);
    RampConditions out;
    out.area = probe.area;
    if (curve->gbw.column == nullptr) out.gbw = probe.gbw;
    out.air = curve->options;
    if (out.air.leak || out.air.water_leak) {
      leak_stated_ = true;
      out.air.leak.reset();
      out.air.water_leak.reset();
    }
    return out;
  }

  Result<CorrectedRamp> correct_with(const RampRecord& record, const PathOutcome* path,
                                     const RampConditions& conditions, CorrectionOptions options) {
    if (options.method == CorrectionMethod::joint) {
      auto model = joint_options(study_.settings(correction_settings()), record);
      if (!model) return fail(model.error());
      options.joint = std::move(*model);
    }
    CorrectionInput input;
    input.leaf = &record;
    std::vector<RampRecord> empties;
    if (path != nullptr && path->path) {
      input.path = &*path->path;
      const auto at = static_cast<std::size_t>(path - paths_.outcomes.data());
      for (const RampRecord* empty : paths_.empties[at]) empties.push_back(*empty);
    }
    input.empties = empties;
    input.air = conditions.air;
    input.gbw = conditions.gbw;
    return correct(input, options);
  }

  /// What a ramp that needs a path is told where there is none.
  static std::string without_path(const PathOutcome* path, const std::string& instrument) {
    if (path != nullptr) return "its gas path could not be found: " + path->failed;
    return std::string("no record of the empty chamber ") +
           (instrument.empty() ? "without an instrument file" : "of " + instrument) +
           " in the study; name one as [[log]] with role = \"empty\", or correction = \"none\" in "
           "[ramp]";
  }

  RampOutcome correct_one(std::size_t i, const CorrectionOptions& options) {
    const std::string& id = ramps_.ids[i];
    RampRecord record = ramps_.records[i];
    RampOutcome out;
    out.name = id;
    out.log = outcome_.record.file;
    const auto failed = [&](const std::string& why) {
      out.failed = why;
      for (const std::size_t row : record.rows) rows_.leave_out(row, "the ramp failed");
      fail_curve(outcome_, id, why);
      return out;
    };
    const std::string& instrument = ramps_.opened.entry->instrument.path;
    const PathOutcome* path = path_for(paths_, instrument, record);
    if (takes_path(options.method) && (path == nullptr || !path->path)) {
      return failed(without_path(path, instrument));
    }
    const auto conditions = conditions_of(id, record);
    if (!conditions) return failed(conditions.error().text());
    record.area = conditions->area;
    if (path != nullptr && takes_path(options.method)) out.path = path->name;
    auto ramp = correct_with(record, path, *conditions, options);
    if (!ramp) return failed(ramp.error().text());
    place_ramp(record, *ramp, rows_);
    for (std::size_t k = 0; k < record.rows.size(); ++k) {
      const std::size_t row = record.rows[k];
      if (!record.Tleaf.empty()) rows_.Tleaf[row] = record.Tleaf[k];
      if (!record.Patm.empty()) rows_.Patm[row] = record.Patm[k];
      rows_.area[row] = ramp->used.area;
    }
    notes_[id] = notes_of(*ramp, out.path);
    out.record_row = record_rows(record, id);
    if (options.method != CorrectionMethod::none) {
      CorrectionOptions plain = options;
      plain.method = CorrectionMethod::none;
      plain.look_at_alignment = false;
      if (auto without = correct_with(record, nullptr, *conditions, plain)) {
        out.plain = std::make_shared<const CorrectedRamp>(std::move(*without));
      }
    }
    out.ramp = std::make_shared<const CorrectedRamp>(std::move(*ramp));
    return out;
  }

  /// For each row of the curve its row of the record; the record's size where it has none.
  [[nodiscard]] std::vector<std::size_t> record_rows(const RampRecord& record,
                                                     const std::string& id) const {
    std::map<std::size_t, std::size_t> at;
    for (std::size_t i = 0; i < record.rows.size(); ++i) at[record.rows[i]] = i;
    std::vector<std::size_t> out;
    for (const CutCurve& curve : ramps_.cut.curves) {
      if (curve.curve_id != id) continue;
      for (const std::size_t row : curve.rows) {
        const auto found = at.find(row);
        out.push_back(found == at.end() ? record.size() : found->second);
      }
    }
    return out;
  }

  [[nodiscard]] Notes notes_of(const CorrectedRamp& ramp, const std::string& path) const {
    std::string text = "a ramp: " + ramp_used_text(ramp.used);
    if (!path.empty()) text += "; gas path of " + path;
    for (const std::string& end : ramp_ends_texts(ramp.ends)) text += "; " + end;
    Notes out{{NoteLevel::info, "ramp-correction", std::move(text)}};
    if (leak_stated_) {
      out.push_back({NoteLevel::caution, "ramp-leak",
                     "the stated leak of the gasket is not taken out of ramps: the offset of the "
                     "empty record holds it as it was with the empty chamber"});
    }
    append(out, ramp.notes);
    return out;
  }

  const RecordLog& ramps_;
  const StudyPaths& paths_;
  const StudyContext& context_;
  const Study& study_;
  LogOutcome& outcome_;
  FluxChoice choice_;
  FluxSource source_;
  FluxRows rows_;
  std::vector<ValueSource> sources_;
  std::map<std::string, Notes> notes_;
  bool leak_stated_ = false;
};

void identify_one(PathOutcome& outcome, const std::vector<const RampRecord*>& empties,
                  const IdentifyOptions& options, const AdviceOptions& wanted) {
  std::vector<RampRecord> records;
  records.reserve(empties.size());
  for (const RampRecord* empty : empties) records.push_back(*empty);
  auto path = identify(records, options);
  if (!path) {
    outcome.failed = path.error().text();
    return;
  }
  outcome.verdict = path_verdict(*path, advise(*path, records.front().instrument, wanted));
  outcome.path = std::move(*path);
}

/// What the cells did since the date before, of the same instrument.
void tell_change(const std::vector<PathOutcome>& all, PathOutcome& outcome) {
  const PathOutcome* before = nullptr;
  for (const PathOutcome& other : all) {
    if (!other.path || !other.date || !outcome.date || other.instrument != outcome.instrument ||
        *other.date >= *outcome.date) {
      continue;
    }
    if (before == nullptr || *other.date > *before->date) before = &other;
  }
  if (before == nullptr || !outcome.path) return;
  auto change = offset_change(*before->path, *outcome.path);
  outcome.path->notes.push_back(
      change ? change_note(*change)
             : Note{NoteLevel::info, "cell-difference-not-compared", change.error().text()});
  if (change) outcome.change = std::move(*change);
}

}  // namespace

std::shared_ptr<RecordLog> read_record_log(const StudyLog& entry, const StudyContext& context,
                                           LogOutcome& outcome) {
  outcome.record.file = entry.file.path;
  outcome.record.role = role_name(entry.role);
  outcome.record.map = entry.map.path;
  outcome.record.instrument = entry.instrument.path;
  auto out = std::make_shared<RecordLog>();
  if (auto ok = open_and_cut(entry, context, *out, outcome); !ok) {
    outcome.failed = ok.error();
    return {};
  }
  const bool leaf = entry.role == LogRole::ramp;
  const Instrument instrument = out->opened.instrument.value_or(Instrument{});
  for (const CutCurve& curve : out->cut.curves) {
    auto record =
        ramp_record(out->opened.log, curve.rows, leaf ? RecordRole::leaf : RecordRole::empty,
                    instrument, leaf ? curve.curve_id : entry.file.path, context.time);
    if (!record) {
      fail_curve(outcome, curve.curve_id, record.error().text());
      continue;
    }
    append(outcome.record.notes, record->notes);
    out->records.push_back(std::move(*record));
    out->ids.push_back(curve.curve_id);
  }
  outcome.record.curves = leaf ? out->cut.curves.size() : 0;
  return out;
}

StudyPaths study_paths(std::span<const std::shared_ptr<RecordLog>> empties, const Study& study) {
  StudyPaths out;
  for (const auto& log : empties) {
    const std::string& instrument = log->opened.entry->instrument.path;
    for (const RampRecord& record : log->records) {
      auto at = std::find_if(out.outcomes.begin(), out.outcomes.end(), [&](const PathOutcome& o) {
        return o.instrument == instrument && o.date == record.date;
      });
      if (at == out.outcomes.end()) {
        PathOutcome fresh;
        fresh.name = (instrument.empty() ? "no instrument file" : instrument) +
                     (record.date ? ", " + *record.date : "");
        fresh.instrument = instrument;
        fresh.date = record.date;
        at = out.outcomes.insert(out.outcomes.end(), std::move(fresh));
        out.empties.emplace_back();
      }
      at->records.push_back(record.name);
      out.empties[static_cast<std::size_t>(at - out.outcomes.begin())].push_back(&record);
    }
  }
  const IdentifyOptions options = identify_options(study.settings(path_settings()));
  for (std::size_t i = 0; i < out.outcomes.size(); ++i) {
    identify_one(out.outcomes[i], out.empties[i], options, {});
  }
  for (PathOutcome& outcome : out.outcomes) tell_change(out.outcomes, outcome);
  return out;
}

const PathOutcome* path_for(const StudyPaths& paths, const std::string& instrument,
                            const RampRecord& ramp) {
  const PathOutcome* best = nullptr;
  double nearest = 0;
  for (const PathOutcome& outcome : paths.outcomes) {
    if (outcome.instrument != instrument) continue;
    double days = 1e9;  // a path or ramp without a date comes last
    if (outcome.date && ramp.date) {
      days = days_between(*outcome.date, *ramp.date).value_or(days);
      // Of two equally near, the earlier: what was known when the leaf was measured.
      days = days < 0 ? -days + 0.5 : days;
    }
    const bool usable = outcome.path.has_value(), was = best != nullptr && best->path.has_value();
    if (best == nullptr || (usable && !was) || (usable == was && days < nearest)) {
      best = &outcome;
      nearest = days;
    }
  }
  return best;
}

void correct_ramps(const RecordLog& ramps, const StudyPaths& paths, const StudyContext& context,
                   LogOutcome& outcome, std::vector<RampOutcome>& made) {
  if (auto ok = RampCorrector(ramps, paths, context, outcome).go(made); !ok) {
    outcome.failed = ok.error();
    return;
  }
  const std::string method = context.study->settings(correction_settings()).text("correction");
  outcome.record.did = "A and Ci of " + counted(made.size(), "ramp") + ", correction " + method;
}

Result<void> check_ramp_section(const Study& study) {
  const Settings& settings = study.settings(correction_settings());
  if (!settings.list("empty").empty()) {
    return fail(ErrorCode::usage, "'empty' in [ramp]",
                "records of the empty chamber as [[log]] with role = \"empty\"", "",
                {study.file, 0, 0, ""});
  }
  if (auto ok = correction_options(settings); !ok) return fail(ok.error());
  return {};
}

}  // namespace leafwright
