#include "study/agree_step.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/fit.hpp"
#include "log/points.hpp"
#include "ramp/correction.hpp"
#include "report/ramp_report.hpp"
#include "stats/agreement_settings.hpp"
#include "study/agree_pairs.hpp"

namespace leafwright {
namespace {

constexpr std::size_t names_told = 8;

Error in_section(const Study& study, Error error) {
  error.found = "[agree]: " + error.found;
  error.place = {study.file, 0, 0, ""};
  return error;
}

bool has_ramps(const Study& study) {
  return std::any_of(study.logs.begin(), study.logs.end(),
                     [](const StudyLog& log) { return log.role == LogRole::ramp; });
}

class Comparing {
 public:
  Comparing(const StudyRun& run, const FitMethod& method)
      : run_(run),
        method_(method),
        agree_(run.study.settings(agreement_settings())),
        fit_(run.study.settings(fit_settings())) {}

  Result<std::shared_ptr<const AgreeDocument>> go() {
    auto rules = agreement_rules(agree_);
    if (!rules) return fail(rules.error());
    rules->level = fit_.number("level");
    rules->seed = static_cast<std::uint64_t>(fit_.whole("seed"));
    document_.rules = *rules;
    if (auto ok = check_columns(); !ok) return fail(ok.error());
    AgreementInput& input = document_.input;
    input.plants_known = agree_.is_set("plant");
    input.order_known = agree_.is_set("order");
    if (auto ok = label_curves(); !ok) return fail(ok.error());
    auto methods = choose_methods(agree_, method_column(), curves_);
    if (!methods) return fail(methods.error());
    input.methods = std::move(*methods);
    if (auto ok = pair_up(); !ok) return fail(ok.error());
    if (auto ok = analyse(); !ok) return fail(ok.error());
    return std::make_shared<const AgreeDocument>(std::move(document_));
  }

 private:
  [[nodiscard]] std::string method_column() const {
    return agree_.is_set("method") ? agree_.text("method") : "role";
  }

  /// The columns that [agree] names are those of the samples table.
  [[nodiscard]] Result<void> check_columns() const {
    const auto& known = run_.about.sample_columns;
    const bool has_samples = run_.study.samples.given();
    for (const char* label : {"leaf", "plant", "method", "order"}) {
      if (!agree_.is_set(label)) continue;
      const std::string& column = agree_.text(label);
      if (has_samples && std::find(known.begin(), known.end(), column) != known.end()) continue;
      const std::string found = std::string(label) + " = \"" + column + "\" in [agree]";
      if (!has_samples) {
        return fail(ErrorCode::usage, found + ", and the study has no samples table",
                    "[samples] with a file that has curve_id and this column", "",
                    {run_.study.file, 0, 0, ""});
      }
      return fail(ErrorCode::usage, found + " is no column of " + run_.study.samples.path,
                  "a column of the samples table", suggest_name(column, known),
                  {run_.study.file, 0, 0, ""});
    }
    return {};
  }

  /// "steps" or "ramp".
  [[nodiscard]] std::string role_of(const std::string& curve) const {
    const auto& ramps = run_.about.ramps;
    const bool ramp = std::any_of(ramps.begin(), ramps.end(),
                                  [&](const RampOutcome& r) { return r.name == curve; });
    return role_name(ramp ? LogRole::ramp : LogRole::steps);
  }

  /// "up", "down", ...; "" for a curve that is no ramp.
  [[nodiscard]] std::string direction_of(const std::string& curve) const {
    for (const RampOutcome& ramp : run_.about.ramps) {
      if (ramp.name == curve && ramp.ramp) return ramp_direction(ramp.ramp->ends);
    }
    return "";
  }

  /// The labels of one curve; an empty leaf, plant or method is missing.
  [[nodiscard]] Result<CurveLabels> labels_of(const std::string& curve) const {
    CurveLabels out;
    const auto found = run_.about.samples.find(curve);
    const auto read = [&](const char* label) -> std::string {
      if (found == run_.about.samples.end() || !agree_.is_set(label)) return "";
      const auto cell = found->second.find(agree_.text(label));
      return cell == found->second.end() || is_missing(cell->second) ? "" : cell->second;
    };
    out.leaf = read("leaf");
    out.plant = read("plant");
    out.method = agree_.is_set("method") ? read("method") : role_of(curve);
    const std::string order = read("order");
    if (order.empty()) return out;
    out.order = parse_number(order);
    if (out.order) return out;
    return fail(ErrorCode::unreadable,
                "curve '" + curve + "' has '" + shortened(order) + "' in column '" +
                    agree_.text("order") + "'",
                "a number, such as a rank", "", {run_.study.samples.path, 0, 0, ""});
  }

  Result<void> label_curves() {
    std::vector<std::string> unlabelled;
    for (const Curve& curve : run_.curves) {
      auto labels = labels_of(curve.curve_id);
      if (!labels) return fail(labels.error());
      if (labels->leaf.empty() || labels->method.empty() ||
          (agree_.is_set("plant") && labels->plant.empty())) {
        unlabelled.push_back(curve.curve_id);
        continue;
      }
      ComparedCurve one;
      one.labels = std::move(*labels);
      take_outcome(curve.curve_id, one);
      curves_.push_back(std::move(one));
    }
    if (unlabelled.empty()) return {};
    note(NoteLevel::caution, "curves-without-labels",
         counted(unlabelled.size(), "curve") +
             " not compared, for the samples table does not say its leaf, plant or method: " +
             join(unlabelled, ", ", names_told));
    return {};
  }

  void take_outcome(const std::string& id, ComparedCurve& into) const {
    into.curve.curve_id = id;
    into.curve.failed = "not fitted";
    take_fit(run_.campaign, id, into);
  }

  /// What these fits say of the curve, if anything.
  void take_fit(const CampaignFit& fits, const std::string& id, ComparedCurve& into) const {
    for (const CurveFit& fit : fits.fits) {
      if (fit.curve_id != id) continue;
      into.curve = compared_fit(fit, agree_.text("values"));
      into.fit = fit;
    }
    for (const FailedCurve& failed : fits.failed) {
      if (failed.curve_id != id) continue;
      into.curve = {};
      into.curve.curve_id = id;
      into.curve.failed = "not fitted: " + failed.why;
      into.fit.reset();
    }
  }

  Result<void> pair_up() {
    AgreementInput& input = document_.input;
    std::array<std::vector<std::string>, 2> lacking;
    for (NoPair& leaf : add_pairs(curves_, input)) {
      if (leaf.lacks) {
        lacking[*leaf.lacks].push_back(std::move(leaf.leaf));
      } else {
        document_.not_compared.push_back(std::move(leaf.why));
      }
    }
    tell_lacking(lacking);
    tell_other_methods();
    if (!input.pairs.empty()) return exclude_pairs(agree_, input);
    std::string why =
        "no leaf has one curve by " + input.methods[0] + " and one by " + input.methods[1];
    for (const std::string& one : document_.not_compared) why += "; " + one;
    for (const Note& told : document_.notes) why += "; " + told.text;
    return fail(ErrorCode::refused, why,
                "leaves with the same name in column '" + agree_.text("leaf") + "'",
                "is the column with the leaf another one (leaf in [agree])?");
  }

  void tell_lacking(const std::array<std::vector<std::string>, 2>& lacking) {
    for (std::size_t k = 0; k < 2; ++k) {
      if (lacking[k].empty()) continue;
      note(NoteLevel::info, "leaves-by-one-method",
           counted(lacking[k].size(), "leaf", "leaves") + " not compared, without a curve by " +
               document_.input.methods[k] + ": " + join(lacking[k], ", ", names_told));
    }
  }

  void tell_other_methods() {
    std::vector<std::string> others;
    for (const ComparedCurve& curve : curves_) {
      const std::string& method = curve.labels.method;
      if (method == document_.input.methods[0] || method == document_.input.methods[1]) continue;
      others.push_back(curve.curve.curve_id + " (" + method + ")");
    }
    if (others.empty()) return;
    note(NoteLevel::info, "curves-by-other-methods",
         counted(others.size(), "curve") +
             " by other methods not compared: " + join(others, ", ", names_told));
  }

  Result<void> analyse() {
    auto result = analyse_agreement(document_.input, document_.rules);
    if (!result) return fail(result.error());
    document_.result = std::move(*result);
    auto unmarked = let_in();
    if (!unmarked) return fail(unmarked.error());
    tell_rows_of_ramps();
    tell_offset();
    tell_shared_paths();
    auto again = compare_again(document_.input, *unmarked, document_.rules);
    if (!again) return fail(again.error());
    document_.without_exclusions = std::move(*again);
    const Study& study = run_.study;
    document_.settings = {&agree_, &study.settings(pathway_settings()),
                          &study.settings(points_settings()), &fit_};
    document_.inputs = run_.inputs;
    return {};
  }

  [[nodiscard]] bool is_paired(const std::string& id) const {
    const auto& pairs = document_.input.pairs;
    return std::any_of(pairs.begin(), pairs.end(), [&](const LeafPair& pair) {
      return pair.curve[0].curve_id == id || pair.curve[1].curve_id == id;
    });
  }

  [[nodiscard]] bool is_ramp(const std::string& curve) const {
    return role_of(curve) == role_name(LogRole::ramp);
  }

  /// The pairs with sound rows of steps let in that a mark or a rule left out; empty without any.
  Result<std::optional<AgreementInput>> let_in() const {
    std::vector<Curve> changed;
    for (const Curve& curve : run_.curves) {
      if (!is_paired(curve.curve_id) || is_ramp(curve.curve_id)) continue;
      Curve open = curve;
      bool any = false;
      for (CurveRow& row : open.rows) {
        if (row.use || !is_sound(row)) continue;
        row.use = any = true;
        row.why.clear();
      }
      if (any) changed.push_back(std::move(open));
    }
    if (changed.empty()) return std::optional<AgreementInput>();
    const CampaignFit fits = fit_all(changed, method_);
    std::vector<ComparedCurve> curves = curves_;
    for (ComparedCurve& curve : curves) take_fit(fits, curve.curve.curve_id, curve);
    AgreementInput out;
    out.methods = document_.input.methods;
    out.plants_known = document_.input.plants_known;
    out.order_known = document_.input.order_known;
    add_pairs(curves, out);
    if (auto ok = exclude_pairs(agree_, out); !ok) return fail(ok.error());
    return std::optional(std::move(out));
  }

  static bool is_sound(const CurveRow& row) {
    return std::isfinite(row.A) && std::isfinite(row.Ci) && row.Ci > 0 &&
           std::isfinite(row.Tleaf) && std::isfinite(row.Patm);
  }

  void tell_rows_of_ramps() {
    std::size_t ramps = 0, out = 0, all = 0;
    std::vector<std::string> down;
    for (const Curve& curve : run_.curves) {
      if (!is_paired(curve.curve_id) || !is_ramp(curve.curve_id)) continue;
      ++ramps;
      if (direction_of(curve.curve_id) != "up") down.push_back(curve.curve_id);
      all += curve.rows.size();
      out += static_cast<std::size_t>(std::count_if(curve.rows.begin(), curve.rows.end(),
                                                    [](const CurveRow& row) { return !row.use; }));
    }
    if (ramps == 0) return;
    document_.rows_out.push_back(
        std::to_string(out) + " of " + counted(all, "row") + " of " + counted(ramps, "ramp") +
        " are not in the fits and not let in again: the two ends, holds and strays, each with its "
        "reason in points.csv");
    if (!down.empty()) {
      note(NoteLevel::info, "ramps-not-up",
           counted(down.size(), "ramp") + " of " + std::to_string(ramps) +
               " compared did not go up alone (" + join(down, ", ", names_told) +
               "): the leaf begins it acclimated to high CO2, and a difference may be that");
    }
    note(NoteLevel::caution, "leaf-bands-of-ramps",
         "the band of a single leaf takes its rows as independent; rows of a ramp share noise, so "
         "that it is too narrow. The band of the mean comes from the scatter between leaves");
  }

  /// Steps are taken as recorded: what the cells differ by is in their A, and not in that of ramps.
  void tell_offset() {
    OffsetRange all;
    for (const LeafPair& pair : document_.input.pairs) {
      const bool first = is_ramp(pair.curve[0].curve_id);
      if (first == is_ramp(pair.curve[1].curve_id)) continue;
      add_offset(pair.curve[first ? 0 : 1].curve_id, all);
    }
    if (!(all.most_A > 0)) return;
    note(NoteLevel::caution, "offset-of-ramps-alone",
         "the offset of the cells was removed from ramps; steps hold what of it was there after "
         "the analysers were matched. Over CO2r of the empty chamber it was " +
             print_rounded(all.low, 2) + " to " + print_rounded(all.high, 2) +
             " umol mol-1: steps without a match have A up to " + print_rounded(all.most_A, 2) +
             " umol m-2 s-1 off from it");
  }

  /// What is wrong with a gas path is the same in all ramps that took it.
  void tell_shared_paths() {
    std::set<std::string> paths;
    std::size_t ramps = 0;
    for (const RampOutcome& one : run_.about.ramps) {
      if (!one.ramp || one.path.empty() || !is_paired(one.name)) continue;
      ++ramps;
      paths.insert(one.path);
    }
    if (paths.size() == ramps) return;
    note(NoteLevel::info, "shared-gas-path",
         counted(ramps, "ramp") + " share " + counted(paths.size(), "gas path") +
             ": the error of a path is common to its ramps, so that it shifts all of their "
             "differences and is not in the intervals over leaves or plants");
  }

  /// CO2s - CO2r of the empty chamber, umol mol-1, and the most that it is in A.
  struct OffsetRange {
    double low = 1e300, high = -1e300, most_A = 0;
  };

  /// Widens the range by the offset that was removed from this ramp, if one was.
  void add_offset(const std::string& curve, OffsetRange& into) const {
    constexpr int places = 20;
    for (const RampOutcome& one : run_.about.ramps) {
      if (one.name != curve || !one.ramp || !one.ramp->used.offset_removed) continue;
      for (const PathOutcome& outcome : run_.about.paths) {
        if (outcome.name != one.path || !outcome.path) continue;
        const auto& c = outcome.path->offset;
        const PathConditions& at = outcome.path->conditions;
        for (int k = 0; k <= places; ++k) {
          const double x = (at.CO2_low + (at.CO2_high - at.CO2_low) * k / places) / 1000;
          const double offset = c[0] + x * (c[1] + x * c[2]);
          into.low = std::min(into.low, offset);
          into.high = std::max(into.high, offset);
          into.most_A = std::max(into.most_A, std::abs(one.ramp->used.gain * offset));
        }
      }
    }
  }

  void note(NoteLevel level, const char* about, std::string text) {
    document_.notes.push_back({level, about, std::move(text)});
  }

  const StudyRun& run_;
  const FitMethod& method_;
  const Settings& agree_;
  const Settings& fit_;
  AgreeDocument document_;
  std::vector<ComparedCurve> curves_;
};

}  // namespace

Result<void> check_agree_section(const Study& study) {
  if (!study.section("agree").stated()) return {};
  const Settings& agree = study.settings(agreement_settings());
  if (auto rules = agreement_rules(agree); !rules) return fail(in_section(study, rules.error()));
  if (agree.is_set("methods")) {
    if (auto ok = method_names(agree); !ok) return fail(in_section(study, ok.error()));
  }
  if (auto ok = excluded_leaves(agree); !ok) return fail(in_section(study, ok.error()));
  if (agree.is_set("method") || has_ramps(study)) return {};
  return fail(ErrorCode::usage, "[agree], but nothing names two methods",
              "method = \"COLUMN\", a column of the samples table",
              "without it the method is the role of a log, and no log has role = \"ramp\"",
              {study.file, 0, 0, ""});
}

Result<std::shared_ptr<const AgreeDocument>> study_agreement(const StudyRun& run,
                                                             const FitMethod& method) {
  return Comparing(run, method).go();
}

}  // namespace leafwright
