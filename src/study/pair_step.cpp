#include "study/pair_step.hpp"

#include <algorithm>
#include <memory>

#include "base/text.hpp"
#include "fit/jmax.hpp"
#include "ramp/pair_settings.hpp"
#include "ramp/ramp_intervals.hpp"

namespace leafwright {
namespace {

const RampOutcome* ramp_named(const StudyRun& run, const std::string& name) {
  for (const RampOutcome& ramp : run.about.ramps) {
    if (ramp.name == name) return &ramp;
  }
  return nullptr;
}

const Curve* curve_named(const StudyRun& run, const std::string& name) {
  for (const Curve& curve : run.curves) {
    if (curve.curve_id == name) return &curve;
  }
  return nullptr;
}

std::string why_missing(const StudyRun& run, const std::string& name) {
  std::vector<std::string> names;
  for (const RampOutcome& ramp : run.about.ramps) names.push_back(ramp.name);
  const RampOutcome* ramp = ramp_named(run, name);
  if (ramp == nullptr) return "no ramp '" + name + "'; the study has " + join(names);
  return "the ramp '" + name + "' was not corrected: " + ramp->failed;
}

/// The curve of a pair: rows of both, with the Ci that the pair gives them.
Curve curve_of(const StudyRun& run, PairOutcome& outcome) {
  Curve out;
  out.curve_id = outcome.name;
  for (std::size_t k = 0; k < outcome.ramps.size(); ++k) {
    const Curve& from = *curve_named(run, outcome.ramps[k]);
    const RampOutcome& ramp = *ramp_named(run, outcome.ramps[k]);
    for (const CurveRow& row : from.rows) {
      const std::size_t at =
          row.row < ramp.record_row.size() ? ramp.record_row[row.row] : ramp.ramp->A.size();
      CurveRow moved = row;
      if (at < ramp.ramp->A.size()) {
        moved.Ci = outcome.pair->Ci[k][at];
      } else {
        moved.use = false;
        if (moved.why.empty()) moved.why = "no row of the ramp";
      }
      moved.row = out.rows.size();
      outcome.rows.push_back({k, at});
      out.rows.push_back(std::move(moved));
    }
  }
  for (const Note& note : outcome.pair->notes) out.notes.push_back(note);
  return out;
}

void add_samples(StudyRun& run, const PairOutcome& outcome) {
  auto& to = run.about.samples[outcome.name];
  for (const std::string& column : run.about.sample_columns) {
    std::vector<std::string> texts;
    for (const std::string& ramp : outcome.ramps) {
      const auto found = run.about.samples.find(ramp);
      if (found == run.about.samples.end()) continue;
      const auto text = found->second.find(column);
      if (text == found->second.end()) continue;
      if (std::find(texts.begin(), texts.end(), text->second) == texts.end()) {
        texts.push_back(text->second);
      }
    }
    if (!texts.empty()) to[column] = join(texts, " + ");
  }
  to["method"] = "ramp pair";
}

Result<PairOutcome> one_pair(const StudyRun& run, const std::array<std::string, 2>& names,
                             PairOptions options) {
  PairOutcome out;
  std::vector<const CorrectedRamp*> ramps;
  std::vector<std::string> paths;
  for (const std::string& name : names) {
    out.ramps.push_back(name);
    const RampOutcome* ramp = ramp_named(run, name);
    if (ramp == nullptr || !ramp->ramp || curve_named(run, name) == nullptr) {
      return fail(ErrorCode::unfit, why_missing(run, name));
    }
    out.corrected.push_back(ramp->ramp);
    ramps.push_back(ramp->ramp.get());
    paths.push_back(ramp->path);
  }
  out.name = join(out.ramps, " + ");
  options.one_path = paths[0] == paths[1];
  auto pair = fit_pair(ramps, out.ramps, options);
  if (!pair) return fail(pair.error());
  out.pair = std::make_shared<const RampPair>(std::move(*pair));
  return out;
}

}  // namespace

Result<void> add_pairs(StudyRun& run) {
  const Settings& settings = run.study.settings(pair_settings());
  const auto stated = stated_pairs(settings);
  if (!stated) return fail(stated.error());
  auto options = pair_options(settings);
  if (!options) return fail(options.error());
  if (stated->empty()) return {};
  for (const auto& names : *stated) {
    auto pair = one_pair(run, names, *options);
    if (!pair) {
      PairOutcome failed;
      failed.ramps = {names[0], names[1]};
      failed.name = names[0] + " + " + names[1];
      failed.failed = pair.error().text();
      run.complaints.push_back("leafwright: pair " + failed.name + ": " + failed.failed);
      run.about.left_out.push_back("the pair " + failed.name + " was not made: " + failed.failed);
      run.about.pairs.push_back(std::move(failed));
      continue;
    }
    run.curves.push_back(curve_of(run, *pair));
    add_samples(run, *pair);
    run.about.pairs.push_back(std::move(*pair));
  }
  run.notes.push_back({NoteLevel::info, "ramp-pairs",
                       counted(stated->size(), "pair") +
                           " of ramps stand in the table beside the two ramps each was made of: "
                           "the same leaf is there more than once"});
  return {};
}

void widen_pairs(StudyRun& run) {
  const Settings& settings = run.study.settings(fit_settings());
  const RampIntervalOptions options{settings.number("level"),
                                    settings.text("rday").starts_with("fraction:")};
  for (const PairOutcome& outcome : run.about.pairs) {
    if (!outcome.pair) continue;
    std::vector<const CorrectedRamp*> ramps;
    for (const auto& ramp : outcome.corrected) ramps.push_back(ramp.get());
    for (CurveFit& fit : run.campaign.fits) {
      if (fit.curve_id == outcome.name) {
        widen_to_pair_errors(ramps, *outcome.pair, outcome.rows, fit, options);
        update_jmax(fit);
      }
    }
  }
}

Result<void> check_pairs(const Study& study) {
  const Settings& settings = study.settings(pair_settings());
  if (auto ok = stated_pairs(settings); !ok) return fail(ok.error());
  if (auto ok = pair_options(settings); !ok) return fail(ok.error());
  return {};
}

}  // namespace leafwright
