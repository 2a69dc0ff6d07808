#include "fit/c4.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/c4_model.hpp"
#include "fit/campaign.hpp"
#include "fit/fit_parts.hpp"
#include "fit/fitted.hpp"
#include "fit/small_report.hpp"
#include "leaf/c4_spread.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// One curve, solved, before intervals.
struct Prepared {
  UsableRows usable;
  std::vector<std::size_t> order;
  C4Rows rows;
  RdayChoice rday;
  std::unique_ptr<CurveModel> model;
  SmallMinimum best;
  Design design;
};

std::size_t distinct(const std::vector<double>& rising) {
  std::size_t levels = rising.empty() ? 0 : 1;
  for (std::size_t i = 1; i < rising.size(); ++i) {
    if (rising[i] - rising[i - 1] > 1e-9 * rising[i]) ++levels;
  }
  return levels;
}

class C4Fitter {
 public:
  explicit C4Fitter(const C4FitOptions& options) : o_(options) {}

  Result<Prepared> prepare(const Curve& curve) const {
    if (o_.kinetics == nullptr) {
      return fail(ErrorCode::usage, "no C4 kinetics set", "one named by --kinetics");
    }
    Prepared out;
    auto usable = usable_rows(curve);
    if (!usable) return fail(usable.error());
    out.usable = std::move(*usable);
    const auto rday = rday_of(out.usable, o_.rday);
    if (!rday) return fail(rday.error());
    out.rday = *rday;
    if (rday->mode == RdayMode::fraction && o_.plateau != C4Plateau::vcmax) {
      return fail(ErrorCode::usage, "Rday is to be a fraction of Vcmax, which this C4 fit has not",
                  "--plateau vcmax", "or give --rday as a number or free");
    }
    const auto kinetics = kinetics_for(out.usable, *o_.kinetics, 0);
    if (!kinetics) return fail(kinetics.error());
    out.order = order_by_ci(out.usable);
    out.rows = rows_of(out.usable, out.order, *kinetics);
    if (auto ok = take_weights(out); !ok) return fail(ok.error());
    if (auto ok = check_levels(out.rows, *rday); !ok) return fail(ok.error());
    out.model = make_c4_model(out.rows, o_.plateau, out.rday);
    out.best = out.model->solve({}, nullptr);
    if (!(out.best.ssr < infinity)) {
      return fail(ErrorCode::unfit, "no parameters of the C4 model could be found for these rows",
                  "finite A and Ci", "look at the rows' units");
    }
    std::vector<std::size_t> which;
    out.design = small_design(*out.model, out.best.p, which);
    return out;
  }

  CurveFit complete(const Curve& curve, Prepared& ready, std::optional<double> correlation) const {
    CurveFit out;
    out.curve_id = curve.curve_id;
    out.pathway = "C4";
    out.notes = curve.notes;
    out.notes.insert(out.notes.end(), ready.usable.notes.begin(), ready.usable.notes.end());
    const SmallIntervals how{o_.level, correlation, o_.intervals == IntervalMethod::profile};
    std::vector<Estimate> estimates = small_estimates(*ready.model, ready.best, how);
    describe_small_fit(out, ready.usable, *ready.model, ready.best, ready.order, how);
    describe_model(out, ready);
    add_slope(estimates, ready);
    out.more = std::move(estimates);
    add_states(out);
    add_at25(out);
    if (o_.budget) add_budget(out, ready);
    add_notes(out, ready);
    describe_weights(out, ready.usable, ready.order, o_.sd_column);
    note_dark(out, ready.rday);
    return out;
  }

 private:
  Result<C4Kinetics> kinetics_for(const UsableRows& usable, const C4KineticsSet& set,
                                  double shift) const {
    auto k = c4_kinetics_at(set, usable.tleaf + shift, usable.patm, o_.basis, o_.overrides);
    if (!k) return fail(k.error());
    k->gbs = o_.gbs;
    k->alpha = o_.alpha;
    k->x = o_.x;
    k->z = c4_atp_factor(o_.fcyc);
    return k;
  }

  static C4Rows rows_of(const UsableRows& usable, const std::vector<std::size_t>& order,
                        const C4Kinetics& kinetics) {
    C4Rows rows;
    rows.kinetics = kinetics;
    for (const std::size_t i : order) {
      rows.A.push_back(usable.rows[i]->A);
      rows.C.push_back(usable.rows[i]->Ci * usable.patm / 100);
    }
    return rows;
  }

  Result<void> take_weights(Prepared& ready) const {
    if (o_.sd_column.empty()) return {};
    std::vector<const CurveRow*> rows;
    for (const std::size_t i : ready.order) rows.push_back(ready.usable.rows[i]);
    auto weights = weights_of(rows, o_.sd_column);
    if (!weights) return fail(weights.error());
    ready.rows.w = std::move(*weights);
    return {};
  }

  static Result<void> check_levels(const C4Rows& rows, const RdayChoice& rday) {
    const std::size_t needed = rday.mode == RdayMode::free ? 3 : 2;
    const std::size_t levels = distinct(rows.C);
    for (std::size_t i = 0; i < rows.A.size(); ++i) {
      if (!std::isfinite(rows.A[i]) || !std::isfinite(rows.C[i])) {
        return fail(ErrorCode::unfit, "a row with A or Ci that is not a number",
                    "finite A and Ci above 0");
      }
    }
    if (levels >= needed) return {};
    return fail(ErrorCode::unfit,
                fmt::format("{} usable row{} at {} distinct Ci", rows.A.size(),
                            rows.A.size() == 1 ? "" : "s", levels),
                fmt::format("at least {} distinct Ci for Vpmax, the plateau{}", needed,
                            needed == 3 ? " and Rday" : ""),
                needed == 3 ? "hold Rday (--rday VALUE)" : "");
  }

  void describe_model(CurveFit& out, const Prepared& ready) const {
    const C4Kinetics& k = ready.rows.kinetics;
    C4Fitted c4;
    c4.plateau = o_.plateau;
    c4.kinetics = k;
    c4.bar = ready.usable.patm / 100;
    const auto& specs = ready.model->specs();
    c4.Vpmax = value_of(specs[c4_vpmax], ready.best.p[c4_vpmax]);
    c4.top = value_of(specs[c4_top], ready.best.p[c4_top]);
    c4.Rday = ready.best.p[c4_rday];
    out.c4 = c4;
    out.kinetics_set = o_.kinetics->name;
    out.basis = o_.basis;
    // In the units of the output, mole fractions at this pressure.
    out.kinetics.Kc = k.Kc / c4.bar;
    out.kinetics.Ko = k.Ko / c4.bar;
    out.kinetics.O = k.O / c4.bar;
    out.kinetics.gamma_star = 1000 * k.gamma_star * k.O / c4.bar;
    out.kinetics.Km = out.kinetics.Kc * (1 + k.O / k.Ko);
    const bool exact = o_.plateau == C4Plateau::unnamed || o_.plateau == C4Plateau::vpr;
    out.certified = exact && ready.best.converged;
    out.certificate =
        out.certified
            ? fmt::format(
                  "no other Vpmax, {}, Rday gives a smaller sum of squares under this model "
                  "({} rows, squared loss, {}, Cm = Ci, Ci above 0); certifies the sum, not that "
                  "only "
                  "these parameters reach it",
                  c4_top_symbol(o_.plateau), out.points,
                  o_.sd_column.empty() ? "equal weights" : "weights 1/sd^2")
            : "not certified: with the plateau named so the model is not straight in its "
              "parameters; it was searched from several starts (docs/methods-c4.md tells how often "
              "a long search finds better)";
  }

  /// The initial slope: for the straight forms a transform of Vpmax.
  void add_slope(std::vector<Estimate>& estimates, const Prepared& ready) const {
    const double bar = ready.usable.patm / 100;
    Estimate slope;
    const auto each = [](Estimate& e, const auto& change) {
      for (auto* v : {&e.value, &e.low, &e.high, &e.low_widened, &e.high_widened}) {
        if (*v) *v = change(**v);
      }
    };
    if (o_.plateau == C4Plateau::vcmax) {
      slope = estimates[c4_initial_slope];
      estimates.pop_back();
      each(slope, [&](double s) { return s * bar; });
    } else {
      slope = estimates[c4_vpmax];
      const C4Kinetics& k = ready.rows.kinetics;
      each(slope, [&](double V) { return (V / k.Kp + k.gbs) * bar; });
      if (slope.se) slope.se = *slope.se / k.Kp * bar;
    }
    slope.symbol = "initial_slope";
    slope.unit = "mol m-2 s-1";
    estimates.push_back(std::move(slope));
  }

  void add_states(CurveFit& out) const {
    std::size_t initial = 0;
    for (FittedRow& row : out.rows) {
      row.c4 = c4_state_at(*out.c4, row.Ci);
      if (row.c4 == C4State::pep) ++initial;
    }
    if (initial == 0 || initial == out.rows.size()) return;
    // The sides cross once between the last row of the one and the first of the other.
    double low = out.rows[initial - 1].Ci, high = out.rows[initial].Ci;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (low + high);
      (c4_state_at(*out.c4, middle) == C4State::pep ? low : high) = middle;
    }
    out.c4->transition = 0.5 * (low + high);
  }

  /// "; published responses put the factor of Vpmax between 1.5 (a) and 2.1 (b)".
  static std::string disagreement(const CurveFit& out) {
    std::string text;
    bool unmoved = false;
    for (const Estimate& e : out.more) {
      unmoved = unmoved || e.symbol == "plateau" || e.symbol == "Vpr";
      const auto spread = c4_response_spread(e.symbol, out.Tleaf);
      if (spread.sets < 2) continue;
      text += fmt::format(
          "; published responses put the factor of {} between {:.2f} ({}) and "
          "{:.2f} ({})",
          e.symbol, spread.lowest, spread.lowest_set, spread.highest, spread.highest_set);
    }
    if (unmoved) text += "; the plateau is not moved, as its response depends on what sets it";
    return text;
  }

  void add_at25(CurveFit& out) const {
    if (o_.at25 == nullptr) return;
    out.response_set = o_.at25->name;
    for (const Estimate& e : out.more) {
      const std::optional<Response>* response = e.symbol == "Vpmax"   ? &o_.at25->Vpmax
                                                : e.symbol == "Vcmax" ? &o_.at25->Vcmax
                                                : e.symbol == "J"     ? &o_.at25->J
                                                : e.symbol == "Rday"  ? &o_.at25->Rday
                                                                      : nullptr;
      if (response == nullptr) continue;
      At25 moved{e.symbol + "25", {}, {}, {}};
      if (*response) {
        const double factor = (*response)->factor(out.Tleaf);
        const auto by_factor = [&](const std::optional<double>& v) {
          return v ? std::optional(*v / factor) : std::nullopt;
        };
        if (e.status == Status::estimated || e.status == Status::fixed) {
          moved.value = by_factor(e.value);
        }
        moved.low = by_factor(e.low);
        moved.high = by_factor(e.high);
      }
      out.at25.push_back(std::move(moved));
    }
    if (std::abs(out.Tleaf - 25) >= 0.5) {
      out.notes.push_back({std::abs(out.Tleaf - 25) < 8 ? NoteLevel::caution : NoteLevel::warning,
                           "moved-to-25",
                           fmt::format("values at 25 degC rest on the response {} over {:.1f} K{}; "
                                       "measuring at the temperature of interest is better",
                                       out.response_set, out.Tleaf - 25, disagreement(out))});
    }
  }

  void add_budget(CurveFit& out, const Prepared& ready) const {
    const auto change = [](double now, double before) -> std::optional<double> {
      if (!(now < infinity) || !(before < infinity) || !(before > 0)) return {};
      return 100 * (now / before - 1);
    };
    const auto refit = [&](const C4Rows& rows, std::string cause, std::string step) {
      const auto model = make_c4_model(rows, o_.plateau, ready.rday);
      const SmallMinimum m = model->solve({}, nullptr);
      if (!(m.ssr < infinity)) return;
      const auto& specs = model->specs();
      BudgetLine line;
      line.cause = std::move(cause);
      line.step = std::move(step);
      line.Vpmax = change(m.p[c4_vpmax], out.c4->Vpmax);
      line.top = change(value_of(specs[c4_top], m.p[c4_top]), out.c4->top);
      line.Rday = m.p[c4_rday] - out.c4->Rday;
      out.budget.push_back(std::move(line));
    };
    const auto changed = [&](const auto& change_rows, std::string cause, std::string step) {
      C4Rows rows = ready.rows;
      change_rows(rows);
      refit(rows, std::move(cause), std::move(step));
    };
    if (const auto warmer = kinetics_for(ready.usable, *o_.kinetics, 1)) {
      changed([&](C4Rows& r) { r.kinetics = *warmer; }, "Tleaf", "+1 K");
    }
    changed(
        [](C4Rows& r) {
          for (double& A : r.A) A /= 1.01;
        },
        "leaf area", "+1 %");
    changed(
        [](C4Rows& r) {
          for (double& A : r.A) A += 0.1;
        },
        "offset of A", "+0.1");
    changed(
        [](C4Rows& r) {
          for (double& C : r.C) C *= 1.02;
        },
        "Ci", "+2 %");
    changed([](C4Rows& r) { r.kinetics.gbs *= 2; }, "gbs", "x 2");
    for (const C4KineticsSet& set : c4_kinetics_sets()) {
      if (set.name == o_.kinetics->name) continue;
      const auto other = kinetics_for(ready.usable, set, 0);
      if (other)
        changed([&](C4Rows& r) { r.kinetics = *other; }, "kinetics", std::string(set.name));
    }
  }

  void add_notes(CurveFit& out, const Prepared& ready) const {
    note_small_fit(out, ready.usable);
    const auto initial = static_cast<std::size_t>(std::count_if(
        out.rows.begin(), out.rows.end(), [](const FittedRow& r) { return r.c4 == C4State::pep; }));
    const auto warn = [&](std::string about, std::string text) {
      out.notes.push_back({NoteLevel::warning, std::move(about), std::move(text)});
    };
    if (initial == 0) {
      warn(
          "no-initial-slope",
          "no row lies on the initial slope: Vpmax and the slope are not identified (rows at lower "
          "Ci are needed)");
    }
    if (initial == out.rows.size()) {
      warn("no-plateau",
           fmt::format("no row lies on a plateau: {} is at best bounded from below (rows at higher "
                       "Ci are needed)",
                       c4_top_symbol(o_.plateau)));
    }
    if (o_.plateau == C4Plateau::unnamed) {
      out.notes.push_back(
          {NoteLevel::info, "plateau-unnamed",
           "what sets the plateau cannot be told from one curve at one light; Vpmax is read "
           "without the leak that a finite Vcmax causes, and is lower than with --plateau vcmax"});
    }
  }

  const C4FitOptions& o_;
};

}  // namespace

Result<CurveFit> fit_c4_curve(const Curve& curve, const C4FitOptions& options,
                              std::optional<double> correlation) {
  const C4Fitter fitter(options);
  auto ready = fitter.prepare(curve);
  if (!ready) return fail(ready.error());
  return fitter.complete(curve, *ready, correlation);
}

CampaignFit fit_c4_curves(std::span<const Curve> curves, const C4FitOptions& options,
                          const Progress& progress, const Cancel* cancel) {
  return run_campaign(curves, C4Fitter(options), {options.intervals, options.correlation}, progress,
                      cancel);
}

}  // namespace leafwright
