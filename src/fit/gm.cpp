#include "fit/gm.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/budget.hpp"
#include "fit/campaign.hpp"
#include "fit/fit_parts.hpp"
#include "fit/fitted.hpp"
#include "fit/gm_response.hpp"
#include "fit/jmax.hpp"
#include "fit/small_report.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// One limitation set, solved.
struct Candidate {
  LimitationSet set;
  std::unique_ptr<CurveModel> model;
  SmallMinimum best;
  [[nodiscard]] double df() const {
    return static_cast<double>(model->rows()) - static_cast<double>(model->counted());
  }
};

struct Prepared {
  UsableRows usable;
  std::vector<std::size_t> order;
  std::vector<Observation> observations;  ///< in order of rising Ci
  RdayChoice rday;
  Candidate chosen;
  std::optional<Candidate> other;
  std::optional<double> f_test_p;
  Design design;
};

C3Leaf leaf_in(const Candidate& c) {
  const auto& specs = c.model->specs();
  const Parameters& p = c.best.p;
  return {value_of(specs[c3_v], p[c3_v]), value_of(specs[c3_j], p[c3_j]),
          value_of(specs[c3_t], p[c3_t]), p[c3_r]};
}

class NumericFitter {
 public:
  explicit NumericFitter(const C3FitOptions& options) : o_(options) {}

  Result<Prepared> prepare(const Curve& curve) const {
    if (o_.kinetics == nullptr) {
      return fail(ErrorCode::usage, "no kinetics set", "one named by --kinetics");
    }
    if (!o_.theta) {
      if (auto ok = check_gm_basis(*o_.kinetics, true); !ok) return fail(ok.error());
    }
    if (o_.huber) {
      return fail(ErrorCode::refused, "Huber's loss with finite gm or a smooth minimum",
                  "squared loss");
    }
    Prepared out;
    auto usable = usable_rows(curve);
    if (!usable) return fail(usable.error());
    out.usable = std::move(*usable);
    const auto rday = rday_of(out.usable, o_.rday);
    if (!rday) return fail(rday.error());
    out.rday = *rday;
    out.order = order_by_ci(out.usable);
    std::vector<const CurveRow*> rows;
    for (const std::size_t i : out.order) rows.push_back(out.usable.rows[i]);
    auto observations = make_observations(rows, out.usable.tleaf, out.usable.patm, o_);
    if (!observations) return fail(observations.error());
    out.observations = std::move(*observations);
    if (auto ok = choose(out); !ok) return fail(ok.error());
    std::vector<std::size_t> which;
    out.design = small_design(*out.chosen.model, out.chosen.best.p, which);
    return out;
  }

  CurveFit complete(const Curve& curve, Prepared& ready, std::optional<double> correlation) const {
    CurveFit out;
    out.curve_id = curve.curve_id;
    out.notes = curve.notes;
    out.notes.insert(out.notes.end(), ready.usable.notes.begin(), ready.usable.notes.end());
    const SmallIntervals how{o_.level, correlation, o_.intervals == IntervalMethod::profile};
    CurveModel& model = *ready.chosen.model;
    std::vector<Estimate> estimates = small_estimates(model, ready.chosen.best, how);
    describe_small_fit(out, ready.usable, model, ready.chosen.best, ready.order, how);
    describe_model(out, ready);
    take_estimates(out, estimates);
    add_states(out);
    add_at25(out, o_.at25);
    add_gm_at25(out, o_);
    note_small_fit(out, ready.usable);
    add_notes(out);
    describe_weights(out, ready.usable, ready.order, o_.sd_column);
    note_dark(out, ready.rday);
    add_jmax(out, ready.usable, o_);
    return out;
  }

 private:
  Result<Candidate> solve(const Prepared& ready, LimitationSet set) const {
    Candidate out;
    out.set = set;
    auto model = o_.theta ? make_smooth_model(ready.observations, set, ready.rday, o_.electrons,
                                              o_.alpha, *o_.theta)
                          : make_gm_model(ready.observations, set, ready.rday, o_.electrons,
                                          o_.alpha, gm_held_at(o_, ready.usable.tleaf));
    if (!model) return fail(model.error());
    out.model = std::move(*model);
    if (o_.gm_free && out.model->rows() < out.model->counted()) {
      return fail(
          ErrorCode::unfit,
          fmt::format("{} usable rows for {} parameters", out.model->rows(), out.model->counted()),
          "as many rows as parameters; gm needs at least 8 to 10 good ones",
          "hold gm (--gm VALUE) or Rday (--rday VALUE)");
    }
    out.best = out.model->solve({}, nullptr);
    if (!(out.best.ssr < infinity)) {
      return fail(ErrorCode::unfit, "no parameters of this model could be found for these rows",
                  "finite A and Ci, and rows that a finite gm can reach",
                  o_.gm ? "a gm this low would draw Cc below 0: check its unit (mol m-2 s-1)" : "");
    }
    return out;
  }

  /// TPU enters by an F test at 5 % with at least two TPU rows, as under infinite gm.
  Result<void> choose(Prepared& ready) const {
    if (o_.limitations) {
      auto given = solve(ready, *o_.limitations);
      if (!given) return fail(given.error());
      ready.chosen = std::move(*given);
      return {};
    }
    auto without = solve(ready, {true, true, false});
    if (!without) return fail(without.error());
    ready.chosen = std::move(*without);
    auto with = solve(ready, {true, true, true});
    if (!with || with->df() <= 0) return {};
    const double gain = ready.chosen.best.ssr - with->best.ssr;
    const double noise = with->best.ssr / with->df();
    double scale = 0;
    for (const Observation& o : ready.observations) scale += o.A * o.A;
    ready.f_test_p = gain > 1e-9 * scale && noise > 0 ? f_upper(gain / noise, 1, with->df()) : 1.0;
    if (*ready.f_test_p < 0.05 && tpu_rows(ready, *with) >= 2) std::swap(ready.chosen, *with);
    ready.other = std::move(*with);
    return {};
  }

  std::size_t tpu_rows(const Prepared& ready, const Candidate& c) const {
    CurveFit trial;
    fill_leaf(trial, c);
    trial.kinetics = ready.observations.front().kinetics;
    std::size_t count = 0;
    for (const Observation& o : ready.observations) {
      if (state_of(trial, o.Ci) == Limitation::tpu) ++count;
    }
    return count;
  }

  void fill_leaf(CurveFit& out, const Candidate& c) const {
    out.leaf = leaf_in(c);
    out.electrons = o_.electrons;
    out.alpha = o_.alpha;
    out.theta = o_.theta;
    if (!o_.theta && c.best.p[c3_resistance] > 0) out.gm = 1 / c.best.p[c3_resistance];
  }

  /// Under a smooth minimum the state is the one whose own rate is lowest.
  static Limitation state_of(const CurveFit& fit, double Ci) {
    if (fit.gm) {
      return c3_assimilation_gm(Ci, *fit.gm, fit.leaf, fit.kinetics, fit.electrons, fit.alpha)
          .limited_by;
    }
    return c3_assimilation(Ci, fit.leaf, fit.kinetics, fit.electrons, fit.alpha).limited_by;
  }

  void describe_model(CurveFit& out, const Prepared& ready) const {
    fill_leaf(out, ready.chosen);
    out.kinetics_set = o_.kinetics->name;
    out.kinetics = ready.observations.front().kinetics;
    if (const auto k = kinetics_at(*o_.kinetics, out.Tleaf, out.Patm, o_.basis, o_.overrides)) {
      out.kinetics = *k;
    }
    out.basis = o_.basis;
    out.kinetics_per_row = o_.tleaf_per_row;
    out.permitted = ready.chosen.set.list();
    out.f_test_p = ready.f_test_p;
    out.certified = false;
    out.certificate =
        o_.theta ? fmt::format(
                       "not certified: under a smooth minimum (theta {}) the sum of squares "
                       "is searched from seven starts (docs/methods-gm.md tells how often a "
                       "long search finds better)",
                       *o_.theta)
                 : "not certified: with finite gm the sum of squares is searched from the exact "
                   "solutions along gm (docs/methods-gm.md tells how often a long search finds "
                   "better)";
    if (!ready.other) return;
    const Candidate& other = *ready.other;
    out.other_set = Alternative{other.set.tpu ? "with TPU permitted" : "without TPU",
                                other.set.list(), leaf_in(other), other.best.ssr};
  }

  void take_estimates(CurveFit& out, std::vector<Estimate>& estimates) const {
    const std::array<Estimate*, 4> slots{&out.Vcmax, &out.J, &out.TPU, &out.Rday};
    const std::array<bool, 4> permitted{has(out.permitted, Limitation::rubisco),
                                        has(out.permitted, Limitation::rubp),
                                        has(out.permitted, Limitation::tpu), true};
    for (std::size_t k = 0; k < 4; ++k) {
      *slots[k] = std::move(estimates[k]);
      if (permitted[k]) continue;
      // Not permitted: nothing is said of it (the exact fit bounds it by permitting it).
      Estimate none;
      none.symbol = slots[k]->symbol;
      *slots[k] = none;
    }
    if (estimates.size() > 4) out.more.push_back(std::move(estimates[4]));
  }

  static bool has(const std::vector<Limitation>& list, Limitation which) {
    return std::find(list.begin(), list.end(), which) != list.end();
  }

  static void add_states(CurveFit& out) {
    for (FittedRow& row : out.rows) row.state = state_of(out, row.Ci);
    for (const Limitation state : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
      const bool any = std::any_of(out.rows.begin(), out.rows.end(),
                                   [&](const FittedRow& r) { return r.state == state; });
      if (any) out.limited_by.push_back(state);
    }
    // Between two states the change lies where it is found by halving.
    for (std::size_t i = 1; i < out.rows.size(); ++i) {
      const Limitation from = out.rows[i - 1].state, to = out.rows[i].state;
      if (from == to) continue;
      double low = out.rows[i - 1].Ci, high = out.rows[i].Ci;
      for (int k = 0; k < 60; ++k) {
        const double middle = 0.5 * (low + high);
        (state_of(out, middle) == from ? low : high) = middle;
      }
      out.transitions.push_back({from, to, 0.5 * (low + high)});
    }
  }

  void add_notes(CurveFit& out) const {
    if (o_.theta) {
      out.notes.push_back({NoteLevel::info, "smooth-minimum",
                           fmt::format("limitations blend with theta {}: Vcmax and J are higher "
                                       "than under the sharp minimum and belong to this theta",
                                       *o_.theta)});
    }
    if (o_.gm_free && !out.more.empty() && !out.more.front().high) {
      out.notes.push_back({NoteLevel::caution, "gm-open",
                           "gm is not bounded above by these rows: infinite gm fits them as well "
                           "within the profile's limit"});
    }
    if (o_.gm_free && out.points < 8) {
      out.notes.push_back({NoteLevel::warning, "gm-few-rows",
                           fmt::format("gm from {} rows: curvature of a curve so short says little "
                                       "about it (at least 8 to 10 are needed)",
                                       out.points)});
    }
  }

  const C3FitOptions& o_;
};

}  // namespace

bool is_numeric(const C3FitOptions& options) {
  return options.gm_free || options.gm || options.theta;
}

Result<CurveFit> fit_numeric_c3_curve(const Curve& curve, const C3FitOptions& options,
                                      std::optional<double> correlation) {
  const NumericFitter fitter(options);
  auto ready = fitter.prepare(curve);
  if (!ready) return fail(ready.error());
  return fitter.complete(curve, *ready, correlation);
}

CampaignFit fit_numeric_c3(std::span<const Curve> curves, const C3FitOptions& options,
                           const Progress& progress, const Cancel* cancel) {
  CampaignFit out = run_campaign(curves, NumericFitter(options),
                                 {options.intervals, options.correlation}, progress, cancel);
  if (options.kinetics != nullptr && options.theta) {
    if (const auto basis = check_gm_basis(*options.kinetics, false)) {
      out.notes.insert(out.notes.begin(), basis->begin(), basis->end());
    }
  }
  return out;
}

}  // namespace leafwright
