#include "fit/fit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/budget.hpp"
#include "fit/campaign.hpp"
#include "fit/correlation.hpp"
#include "fit/exact.hpp"
#include "fit/fit_parts.hpp"
#include "fit/gm.hpp"
#include "fit/huber.hpp"
#include "fit/intervals.hpp"
#include "fit/jmax.hpp"
#include "fit/rows.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// One limitation set, solved.
struct Solved {
  C3Problem problem;  ///< under Huber's loss the last weighted one
  ExactSolution solution;
  std::optional<HuberSolution> huber;
  std::optional<PseudoValues> pseudo;  ///< under Huber's loss: what intervals are made from
  [[nodiscard]] double df() const {
    return static_cast<double>(problem.size()) - problem.parameters();
  }
};

struct Choice {
  Solved chosen;
  std::optional<Solved> other;
  std::optional<double> f_test_p;
  Notes notes;
};

std::size_t rows_limited_by(const Solved& s, Limitation state) {
  std::size_t count = 0;
  for (std::size_t i = 0; i < s.problem.size(); ++i) {
    if (limiting_state(s.problem, i, s.solution.leaf) == state) ++count;
  }
  return count;
}

Alternative alternative(std::string what, const C3Problem& p, const C3Leaf& leaf, double ssr) {
  return {std::move(what), p.permitted.list(), leaf, ssr};
}

/// Everything about one curve up to the intervals, which may need all curves' residuals first.
struct Prepared {
  UsableRows usable;
  RdayChoice rday;
  std::vector<Observation> observations;
  Choice choice;
  Design design;
};

class Fitter {
 public:
  explicit Fitter(const C3FitOptions& options) : o_(options) {}

  Result<Prepared> prepare(const Curve& curve) const {
    if (o_.kinetics == nullptr) {
      return fail(ErrorCode::usage, "no kinetics set", "one named by --kinetics");
    }
    Prepared out;
    auto usable = usable_rows(curve);
    if (!usable) return fail(usable.error());
    out.usable = std::move(*usable);
    const auto rday = rday_of(out.usable, o_.rday);
    if (!rday) return fail(rday.error());
    out.rday = *rday;
    auto observations = make_observations(out.usable.rows, out.usable.tleaf, out.usable.patm, o_);
    if (!observations) return fail(observations.error());
    out.observations = std::move(*observations);
    auto choice = o_.limitations ? take_as_given(out.observations, *rday, *o_.limitations)
                                 : choose(out.observations, *rday);
    if (!choice) return fail(choice.error());
    out.choice = std::move(*choice);
    const Solved& s = out.choice.chosen;
    out.design = s.pseudo ? make_design(s.pseudo->problem, s.pseudo->solution)
                          : make_design(s.problem, s.solution);
    return out;
  }

  CurveFit complete(const Curve& curve, const Prepared& ready,
                    std::optional<double> correlation) const;

 private:
  Result<Solved> solve(const std::vector<Observation>& observations, const RdayChoice& rday,
                       LimitationSet set) const {
    auto p = make_problem(observations, set, rday.mode, rday.value, o_.electrons, o_.alpha,
                          o_.min_points);
    if (!p) return fail(p.error());
    Solved out{std::move(*p), {}, {}, {}};
    if (!o_.huber) {
      out.solution = solve_exact(out.problem);
      return out;
    }
    out.huber = solve_huber(out.problem, *o_.huber);
    out.pseudo = pseudo_values(out.problem, *out.huber);
    out.problem = out.huber->weighted;
    out.solution = out.huber->solution;
    return out;
  }

  /// The lowest sum of squares of `s` with TPU left out, under the weights that its rows have.
  double ssr_under_weights_of(const C3Problem& with, C3Problem without) const {
    std::vector<double> w(with.size());
    for (std::size_t i = 0; i < with.size(); ++i) w[with.row[i]] = with.w[i];
    for (std::size_t i = 0; i < without.size(); ++i) without.w[i] = w[without.row[i]];
    without.scale = data_scale(without);
    return solve_exact(without).ssr;
  }

  Result<Choice> take_as_given(const std::vector<Observation>& observations, const RdayChoice& rday,
                               LimitationSet set) const {
    auto s = solve(observations, rday, set);
    if (!s) return fail(s.error());
    Choice out;
    out.chosen = std::move(*s);
    return out;
  }

  /// TPU enters by an F test at 5 % with at least two TPU rows.
  Result<Choice> choose(const std::vector<Observation>& observations,
                        const RdayChoice& rday) const {
    Choice out;
    auto without = solve(observations, rday, {true, true, false});
    if (!without) {
      auto rubisco = solve(observations, rday, {true, false, false});
      if (!rubisco) return fail(without.error());
      out.chosen = std::move(*rubisco);
      out.notes.push_back({NoteLevel::warning, "too-few-levels",
                           "too few distinct Ci for RuBP limitation: every row is taken as "
                           "Rubisco-limited, which nothing here can check"});
      return out;
    }
    out.chosen = std::move(*without);
    auto with = solve(observations, rday, {true, true, true});
    if (!with || with->df() <= 0) return out;
    // Under Huber's loss both sets are compared under the weights of the wider one.
    const double without_ssr = o_.huber ? ssr_under_weights_of(with->problem, out.chosen.problem)
                                        : out.chosen.solution.ssr;
    const double gain = without_ssr - with->solution.ssr;
    const double noise = with->solution.ssr / with->df();
    const std::size_t tpu_rows = rows_limited_by(*with, Limitation::tpu);
    const bool beyond_rounding = gain > 1e-12 * with->problem.scale;
    out.f_test_p = beyond_rounding ? (noise > 0 ? f_upper(gain / noise, 1, with->df()) : 0.0) : 1.0;
    if (*out.f_test_p < 0.05 && tpu_rows >= std::max<std::size_t>(2, o_.min_points)) {
      std::swap(out.chosen, *with);
    }
    out.other = std::move(*with);
    return out;
  }

  void describe_fit(CurveFit& out, const Prepared& ready) const;
  std::string certificate(const CurveFit& out, const Solved& s) const;
  void add_rows(CurveFit& out, const Prepared& ready) const;
  void add_weighting(CurveFit& out, const Prepared& ready) const;
  ParameterEstimates estimates_of(const Curve& curve, const Prepared& ready, const CellList& cells,
                                  std::optional<double> correlation) const;
  void add_transitions(CurveFit& out) const;
  void add_runner_up(CurveFit& out, const CellList& cells, const ExactSolution& best) const;
  void add_notes(CurveFit& out, const Prepared& ready) const;

  const C3FitOptions& o_;
};

void Fitter::describe_fit(CurveFit& out, const Prepared& ready) const {
  const Solved& s = ready.choice.chosen;
  out.points = s.problem.size();
  for (const CurveRow* row : ready.usable.rows) out.used.push_back(row->row);
  out.Tleaf = ready.usable.tleaf;
  out.Patm = ready.usable.patm;
  out.kinetics_set = o_.kinetics->name;
  // The constants at the curve's means, also where rows have their own.
  const auto k = kinetics_at(*o_.kinetics, out.Tleaf, out.Patm, o_.basis, o_.overrides);
  if (k) out.kinetics = *k;
  out.basis = o_.basis;
  out.kinetics_per_row = o_.tleaf_per_row;
  if (o_.intervals != IntervalMethod::none && s.df() > 0) {
    out.interval_kind = fmt::format("{:.6g} % {}", 100 * o_.level,
                                    o_.intervals == IntervalMethod::bootstrap ? "bootstrap"
                                    : s.huber ? "profile of pseudo-values"
                                              : "profile");
  }
  out.electrons = o_.electrons;
  out.alpha = o_.alpha;
  out.permitted = s.problem.permitted.list();
  out.ssr = s.solution.ssr;
  out.df = s.df() > 0 ? static_cast<std::size_t>(s.df()) : 0;
  out.rmse = out.df > 0 ? std::sqrt(out.ssr / static_cast<double>(out.df)) : 0;
  out.leaf = s.solution.leaf;
  out.certified = s.solution.certified && !s.huber;
  out.certificate = certificate(out, s);
  out.f_test_p = ready.choice.f_test_p;
  if (ready.choice.other) {
    const Solved& other = *ready.choice.other;
    out.other_set = alternative(other.problem.permitted.tpu ? "with TPU permitted" : "without TPU",
                                other.problem, other.solution.leaf, other.solution.ssr);
  }
}

std::string Fitter::certificate(const CurveFit& out, const Solved& s) const {
  const char* order =
      s.problem.ordered ? "states in one order along Ci" : "kinetics per row, all cells searched";
  const std::string weights = o_.sd_column.empty() ? "equal weights" : "weights 1/sd^2";
  if (!s.solution.certified) {
    return "not certified: the sum of squares recomputed from the parameters differs from the "
           "solver's by more than 1e-9 of sum A^2 (Ci that hardly differ, or absurd values)";
  }
  if (s.huber) {
    return fmt::format(
        "not certified under Huber's loss, which was searched from {} start{}; only of the last "
        "weighted problem is it certain that no other Vcmax, J, TPU, Rday gives a smaller weighted "
        "sum of squares ({} rows, {} times Huber's, infinite gm, Ci above 0, {})",
        s.huber->outcome.starts, s.huber->outcome.starts == 1 ? "" : "s", out.points, weights,
        order);
  }
  return fmt::format(
      "no other Vcmax, J, TPU, Rday gives a smaller sum of squares under this model ({} rows, "
      "squared loss, {}, infinite gm, Ci above 0, {}); certifies the sum, not that only these "
      "parameters reach it",
      out.points, weights, order);
}

void Fitter::add_rows(CurveFit& out, const Prepared& ready) const {
  const Solved& s = ready.choice.chosen;
  for (std::size_t i = 0; i < s.problem.size(); ++i) {
    const CurveRow& row = *ready.usable.rows[s.problem.row[i]];
    FittedRow f;
    f.row = row.row;
    f.Ci = row.Ci;
    f.A = row.A;
    f.A_model = modelled_rate(s.problem, i, out.leaf);
    f.residual = f.A - f.A_model;
    f.state = limiting_state(s.problem, i, out.leaf);
    f.weight = s.problem.w[i];
    if (s.huber) f.huber = s.huber->weight[i];
    if (!o_.sd_column.empty()) f.sd = row.sd;
    out.rows.push_back(f);
  }
  std::stable_sort(out.rows.begin(), out.rows.end(),
                   [](const FittedRow& a, const FittedRow& b) { return a.Ci < b.Ci; });
  for (const Limitation state : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
    if (rows_limited_by(s, state) > 0) out.limited_by.push_back(state);
  }
}

void Fitter::add_weighting(CurveFit& out, const Prepared& ready) const {
  const Solved& s = ready.choice.chosen;
  if (o_.sd_column.empty() && !s.huber) return;
  Weighting w;
  w.sd_column = o_.sd_column;
  if (!o_.sd_column.empty()) w.residual_to_sd = residual_to_sd(out);
  if (s.huber) w.huber = s.huber->outcome;
  out.weighting = std::move(w);
  note_weights(out, ready.usable);
}

/// Ci at which two states give the same rate; empty where they do not meet above 0.
std::optional<double> crossing(Limitation from, Limitation to, const C3Leaf& leaf,
                               const Kinetics& k, const Electrons& e, double alpha) {
  const double a = e.carboxylation, b = e.oxygenation, g = k.gamma_star;
  const double tpu_g = (1 + 3 * alpha) * g;
  double top = 0, bottom = 0;
  if (from == Limitation::rubisco && to == Limitation::rubp) {
    top = leaf.J * k.Km - b * g * leaf.Vcmax;
    bottom = a * leaf.Vcmax - leaf.J;
  } else if (from == Limitation::rubp && to == Limitation::tpu) {
    top = tpu_g * leaf.J + 3 * leaf.TPU * b * g;
    bottom = leaf.J - 3 * a * leaf.TPU;
  } else {
    top = tpu_g * leaf.Vcmax + 3 * leaf.TPU * k.Km;
    bottom = leaf.Vcmax - 3 * leaf.TPU;
  }
  const double ci = top / bottom;
  if (!std::isfinite(ci) || !(ci > 0)) return {};
  return ci;
}

void Fitter::add_transitions(CurveFit& out) const {
  for (std::size_t i = 1; i < out.limited_by.size(); ++i) {
    const Limitation from = out.limited_by[i - 1], to = out.limited_by[i];
    const auto ci = crossing(from, to, out.leaf, out.kinetics, out.electrons, out.alpha);
    if (ci) out.transitions.push_back({from, to, *ci});
  }
}

void Fitter::add_runner_up(CurveFit& out, const CellList& cells, const ExactSolution& best) const {
  if (const auto next = next_minimum(cells, best)) {
    out.runner_up = alternative("next local minimum", cells.problem(), next->leaf, next->ssr);
  }
  if (!out.runner_up || out.runner_up->ssr > 1.01 * out.ssr || !(out.leaf.Vcmax < infinity) ||
      !(out.runner_up->leaf.Vcmax < infinity)) {
    return;
  }
  const double change = 100 * (out.runner_up->leaf.Vcmax / out.leaf.Vcmax - 1);
  if (std::abs(change) > 5) {
    out.notes.push_back({NoteLevel::warning, "runner-up-close",
                         fmt::format("another minimum fits within 1 % of this sum of squares with "
                                     "Vcmax {:+.0f} %",
                                     change)});
  }
}

void Fitter::add_notes(CurveFit& out, const Prepared& ready) const {
  const auto caution = [&](std::string about, std::string text) {
    out.notes.push_back({NoteLevel::caution, std::move(about), std::move(text)});
  };
  if (ready.usable.tleaf_spread > 2) {
    caution("tleaf-spread",
            fmt::format("Tleaf varies by {:.1f} K within the curve{}", ready.usable.tleaf_spread,
                        o_.tleaf_per_row ? "" : "; kinetics are taken at its mean"));
  }
  note_degrees_of_freedom(out);
  if (ready.choice.chosen.solution.flat) {
    out.notes.push_back({NoteLevel::warning, "flat",
                         "the flat curve A = -Rday fits best: no capacity can be read from it"});
  }
  const Kinetics& k = out.kinetics;
  const double least = o_.electrons.oxygenation / o_.electrons.carboxylation * k.gamma_star;
  if (k.Km <= least) {
    caution("km-low",
            "Km is so low beside GammaStar that the states need not follow the usual "
            "order; all orders were searched");
  }
  const ResidualChecks& r = out.residuals;
  if (r.largest && r.outlier_p && *r.outlier_p < 0.01) {
    caution("large-residual",
            fmt::format("a row lies {:.1f} standard deviations off the curve", *r.largest));
  }
  if (r.runs_p && *r.runs_p < 0.01) {
    caution("residual-runs", "residuals come in runs: the model does not follow the curve's shape");
  }
  for (const Estimate* e : {&out.Vcmax, &out.J}) {
    if (e->status == Status::lower_bound && e->value) {
      caution(e->symbol + "-open",
              e->symbol +
                  " is not bounded above by these rows: its best-fit value serves only to "
                  "recompute the curve");
    }
  }
}

ParameterEstimates Fitter::estimates_of(const Curve& curve, const Prepared& ready,
                                        const CellList& cells,
                                        std::optional<double> correlation) const {
  const Solved& s = ready.choice.chosen;
  IntervalRequest request{o_.level, correlation, o_.intervals == IntervalMethod::profile, 1};
  if (s.pseudo) {
    request.variance_factor = s.huber->outcome.correction * s.huber->outcome.correction;
    const C3Problem& p = s.pseudo->problem;
    std::vector<Observation> observations = ready.observations;
    for (std::size_t i = 0; i < p.size(); ++i) observations[p.row[i]].A = p.A[i];
    return estimate_parameters(CellList(p), s.pseudo->solution, ready.design, observations,
                               o_.electrons, o_.alpha, request);
  }
  auto out = estimate_parameters(cells, s.solution, ready.design, ready.observations, o_.electrons,
                                 o_.alpha, request);
  if (o_.intervals == IntervalMethod::bootstrap) {
    bootstrap_intervals(out, s.problem, s.solution, o_.level, o_.replicates, o_.seed,
                        curve.curve_id);
  }
  return out;
}

CurveFit Fitter::complete(const Curve& curve, const Prepared& ready,
                          std::optional<double> correlation) const {
  const Solved& s = ready.choice.chosen;
  CurveFit out;
  out.curve_id = curve.curve_id;
  out.notes = curve.notes;
  for (const Notes* notes : {&ready.usable.notes, &ready.choice.notes}) {
    out.notes.insert(out.notes.end(), notes->begin(), notes->end());
  }
  describe_fit(out, ready);
  add_rows(out, ready);
  add_weighting(out, ready);
  add_transitions(out);
  out.residual_correlation = correlation;
  const CellList cells(s.problem);
  auto estimates = estimates_of(curve, ready, cells, correlation);
  out.Vcmax = std::move(estimates.Vcmax);
  out.J = std::move(estimates.J);
  out.TPU = std::move(estimates.TPU);
  out.Rday = std::move(estimates.Rday);
  if (const auto profile = correlation_profile(ready.design)) {
    out.residuals.lag1 = profile->observed;
    out.residuals.lag1_expected = profile->expected(0);
  }
  const RunsAndOutliers checks = check_residuals(ready.design);
  out.residuals.runs_p = checks.runs_p;
  out.residuals.largest = checks.largest;
  out.residuals.outlier_p = checks.outlier_p;
  add_at25(out, o_.at25);
  add_runner_up(out, cells, s.solution);
  if (o_.budget) {
    out.budget = make_budget(ready.usable.rows, ready.usable.tleaf, ready.usable.patm, o_,
                             s.problem, out.leaf);
  }
  add_notes(out, ready);
  note_dark(out, ready.rday);
  add_jmax(out, ready.usable, o_);
  return out;
}

}  // namespace

const char* status_name(Status status) {
  switch (status) {
    case Status::estimated:
      return "estimated";
    case Status::fixed:
      return "fixed";
    case Status::lower_bound:
      return "lower bound";
    case Status::upper_bound:
      return "upper bound";
    case Status::not_identified:
      return "not identified";
  }
  return "not identified";
}

Result<CurveFit> fit_curve(const Curve& curve, const C3FitOptions& options,
                           std::optional<double> correlation) {
  if (is_numeric(options)) return fit_numeric_c3_curve(curve, options, correlation);
  const Fitter fitter(options);
  const auto ready = fitter.prepare(curve);
  if (!ready) return fail(ready.error());
  return fitter.complete(curve, *ready, correlation);
}

CampaignFit fit_curves(std::span<const Curve> curves, const C3FitOptions& options,
                       const Progress& progress, const Cancel* cancel) {
  if (is_numeric(options)) return fit_numeric_c3(curves, options, progress, cancel);
  CampaignFit out = run_campaign(curves, Fitter(options), {options.intervals, options.correlation},
                                 progress, cancel);
  if (options.kinetics != nullptr) {
    if (const auto basis = check_gm_basis(*options.kinetics, false)) {
      out.notes.insert(out.notes.begin(), basis->begin(), basis->end());
    }
  }
  return out;
}

}  // namespace leafwright
