// The front door of the fit room: what one curve's fit says, and what it refuses to say.
#include "fit/fit.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "fit/budget.hpp"
#include "fit/exact.hpp"
#include "numeric/distributions.hpp"
#include "support/coverage.hpp"
#include "support/plain_curve.hpp"

namespace leafwright {
namespace {

using namespace plain;

const C3Leaf seen{60, 100, 6.2, 1.2};         // all three states act
const C3Leaf no_tpu{60, 100, infinity, 1.2};  // TPU does not
const C3Leaf rubisco_only{60, infinity, infinity, 1.2};

bool has_note(const Notes& notes, const std::string& about) {
  return std::any_of(notes.begin(), notes.end(), [&](const Note& n) { return n.about == about; });
}

CurveFit fitted(const Curve& curve, const C3FitOptions& o) {
  const auto fit = fit_curve(curve, o);
  EXPECT_TRUE(fit) << (fit ? "" : fit.error().text());
  return fit ? *fit : CurveFit{};
}

std::string refused(const Curve& curve, const C3FitOptions& o) {
  const auto fit = fit_curve(curve, o);
  return fit ? "fitted" : fit.error().text();
}

// --- What is estimated, fixed, bounded -----------------------------------------------------------

TEST(Fit, AllStatesSeen) {
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  const CurveFit f = fitted(made(seen), o);
  EXPECT_TRUE(f.certified);
  EXPECT_EQ(f.limited_by, (std::vector{Limitation::rubisco, Limitation::rubp, Limitation::tpu}));
  for (const Estimate* e : {&f.Vcmax, &f.TPU, &f.Rday}) {
    EXPECT_EQ(e->status, Status::estimated) << e->symbol;
    ASSERT_TRUE(e->value && e->low && e->high && e->se) << e->symbol;
    EXPECT_LT(*e->low, *e->value);
    EXPECT_GT(*e->high, *e->value);
  }
  EXPECT_NEAR(*f.Vcmax.value, 60, 4);
  EXPECT_NEAR(*f.TPU.value, 6.2, 0.2);
  EXPECT_EQ(f.df, 9U);
  EXPECT_NEAR(f.rmse, std::sqrt(f.ssr / 9), 1e-12);
}

TEST(Fit, SsrComesBackFromThePrintedEstimates) {
  for (const C3Leaf& leaf : {seen, no_tpu, rubisco_only}) {
    const CurveFit f = fitted(made(leaf), options());
    const auto or_none = [](const Estimate& e) { return e.value ? *e.value : infinity; };
    const C3Leaf printed{or_none(f.Vcmax), or_none(f.J), or_none(f.TPU), *f.Rday.value};
    double ssr = 0;
    for (const FittedRow& r : f.rows) {
      const double e = r.A - stress::net_rate(printed, r.Ci, G, Km, {}, 0);
      ssr += e * e;
    }
    EXPECT_NEAR(ssr, f.ssr, 1e-10 * (1 + ssr));
  }
}

TEST(Fit, TpuThatIsNotSeenIsALowerBound) {
  auto o = options();
  o.limitations = LimitationSet{true, true, false};
  const CurveFit f = fitted(made(no_tpu), o);
  EXPECT_FALSE(f.TPU.value);
  EXPECT_EQ(f.TPU.status, Status::lower_bound);
  ASSERT_TRUE(f.TPU.low);
  EXPECT_FALSE(f.TPU.high);
  // The highest TPU that would still just touch the last row is J s_n: the bound is near, below it.
  const double s = (1700 - G) / (3 * (4 * 1700 + 8 * G));
  EXPECT_LT(*f.TPU.low, *f.J.value * s);
  EXPECT_GT(*f.TPU.low, 0.9 * *f.J.value * s);
}

TEST(Fit, JThatIsNotSeenIsALowerBound) {
  const CurveFit f = fitted(made(rubisco_only, 0.2, {55, 95, 140, 190, 250, 330, 430}), options());
  EXPECT_FALSE(f.J.value);
  EXPECT_EQ(f.J.status, Status::lower_bound);
  EXPECT_EQ(f.limited_by, std::vector{Limitation::rubisco});
  EXPECT_TRUE(f.transitions.empty());
}

TEST(Fit, AFixedRdayIsFixed) {
  auto o = options();
  o.rday = {RdaySource::From::value, 0.9};
  const CurveFit f = fitted(made(seen), o);
  EXPECT_EQ(f.Rday.status, Status::fixed);
  EXPECT_EQ(*f.Rday.value, 0.9);
  EXPECT_FALSE(f.Rday.low || f.Rday.high || f.Rday.se);
  EXPECT_EQ(f.df, 10U);
}

TEST(Fit, AFractionTiesRdayToVcmax) {
  auto o = options();
  o.rday = {RdaySource::From::fraction, 0.015};
  const CurveFit f = fitted(made(seen), o);
  EXPECT_NEAR(*f.Rday.value, 0.015 * *f.Vcmax.value, 1e-12);
  EXPECT_NEAR(*f.Rday.low, 0.015 * *f.Vcmax.low, 1e-9);
  EXPECT_NEAR(*f.Rday.high, 0.015 * *f.Vcmax.high, 1e-9);
}

TEST(Fit, RdayOnItsBoundIsAnUpperBound) {
  auto leaf = seen;
  leaf.Rday = 0;
  auto curve = made(leaf, 0.05);
  for (CurveRow& row : curve.rows) row.A += 0.6;  // as if the leaf gave CO2 back: Rday would be < 0
  const CurveFit f = fitted(curve, options());
  EXPECT_EQ(*f.Rday.value, 0);
  EXPECT_EQ(f.Rday.status, Status::upper_bound);
}

TEST(Fit, AProfileEndIsWhereTheSumReachesItsThreshold) {
  auto o = options();
  o.limitations = LimitationSet{true, true, false};
  const CurveFit f = fitted(made(no_tpu), o);
  const double threshold = f.ssr * (1 + f_quantile(0.95, 1, 10) / 10);
  // With Rday held at its ends, the best of the others reaches the threshold exactly.
  for (const double end : {*f.Rday.low, *f.Rday.high}) {
    auto held = o;
    held.rday = {RdaySource::From::value, end};
    EXPECT_NEAR(fitted(made(no_tpu), held).ssr, threshold, 1e-9 * threshold);
  }
}

// --- The rule about TPU --------------------------------------------------------------------------

TEST(AutoRule, IsTheFTestByHand) {
  for (const C3Leaf& leaf : {seen, no_tpu}) {
    auto with = options(), without = options();
    with.limitations = LimitationSet{true, true, true};
    without.limitations = LimitationSet{true, true, false};
    const CurveFit a = fitted(made(leaf), with), b = fitted(made(leaf), without);
    const CurveFit f = fitted(made(leaf), options());
    const double F = (b.ssr - a.ssr) / (a.ssr / 9);
    ASSERT_TRUE(f.f_test_p);
    EXPECT_NEAR(*f.f_test_p, f_upper(F, 1, 9), 1e-12);
    std::size_t tpu_rows = 0;
    for (const FittedRow& r : a.rows) tpu_rows += r.state == Limitation::tpu ? 1U : 0U;
    const bool enters = *f.f_test_p < 0.05 && tpu_rows >= 2;
    EXPECT_EQ(f.permitted.size(), enters ? 3U : 2U);
    EXPECT_EQ(f.ssr, enters ? a.ssr : b.ssr);
    ASSERT_TRUE(f.other_set) << "both fits are reported";
    EXPECT_EQ(f.other_set->ssr, enters ? b.ssr : a.ssr);
    EXPECT_EQ(f.other_set->what, enters ? "without TPU" : "with TPU permitted");
  }
  EXPECT_EQ(fitted(made(seen), options()).permitted.size(), 3U) << "a TPU plateau must be found";
}

TEST(AutoRule, OneTpuPointIsNotEnough) {
  auto curve = made(no_tpu, 0);
  curve.rows.back().A -= 0.2;  // still above the row before: TPU explains it perfectly
  const CurveFit f = fitted(curve, options());
  ASSERT_TRUE(f.f_test_p);
  EXPECT_LT(*f.f_test_p, 1e-6);
  EXPECT_EQ(f.permitted.size(), 2U);
}

// --- Transitions, values at 25 degC, notes -------------------------------------------------------

TEST(Fit, TransitionsAreWhereTwoStatesGiveTheSameRate) {
  const CurveFit f = fitted(made(seen), options());
  ASSERT_EQ(f.transitions.size(), 2U);
  const double c1 = f.transitions[0].Ci, c2 = f.transitions[1].Ci;
  const auto wc = [&](double c) { return *f.Vcmax.value * c / (c + Km); };
  const auto wj = [&](double c) { return *f.J.value * c / (4 * c + 8 * G); };
  const auto wp = [&](double c) { return 3 * *f.TPU.value * c / (c - G); };
  EXPECT_NEAR(wc(c1), wj(c1), 1e-9);
  EXPECT_NEAR(wj(c2), wp(c2), 1e-9);
  for (const FittedRow& r : f.rows) {
    if (std::abs(r.Ci / c1 - 1) < 1e-9 || std::abs(r.Ci / c2 - 1) < 1e-9) continue;  // on a kink
    const Limitation expected = r.Ci < c1   ? Limitation::rubisco
                                : r.Ci < c2 ? Limitation::rubp
                                            : Limitation::tpu;
    EXPECT_EQ(r.state, expected) << r.Ci;
  }
}

TEST(Fit, ValuesAt25AreTheValuesOverTheResponse) {
  auto o = options();
  o.at25 = *find_response("bernacchi-2001");
  auto curve = made(seen);
  for (CurveRow& row : curve.rows) row.Tleaf = 30;
  const CurveFit f = fitted(curve, o);
  ASSERT_EQ(f.at25.size(), 4U);
  // Bernacchi et al. 2001: Vcmax 65.33 kJ mol-1.
  const double factor = std::exp(65330 / (8.314462618 * 298.15) * (1 - 298.15 / 303.15));
  EXPECT_EQ(f.at25[0].symbol, "Vcmax25");
  ASSERT_TRUE(f.at25[0].value);
  EXPECT_NEAR(*f.at25[0].value, *f.Vcmax.value / factor, 2e-3 * *f.at25[0].value);
}

TEST(Fit, NotesTellWhatAReaderMustKnow) {
  auto curve = made(seen);
  curve.rows[2].use = false;
  curve.rows[2].why = "marked";
  curve.rows[4].Ci = -3;
  curve.rows[6].Tleaf = 29;
  const CurveFit f = fitted(curve, options());
  EXPECT_TRUE(has_note(f.notes, "rows-not-used"));
  EXPECT_TRUE(has_note(f.notes, "ci-not-positive"));
  EXPECT_TRUE(has_note(f.notes, "tleaf-spread"));
  EXPECT_EQ(f.points, 11U);
  EXPECT_EQ(f.used, (std::vector<std::size_t>{0, 1, 3, 5, 6, 7, 8, 9, 10, 11, 12}));

  auto low = options();
  low.overrides.Km = 60;  // below 2 Gamma*
  EXPECT_TRUE(has_note(fitted(made(seen), low).notes, "km-low"));
  EXPECT_FALSE(has_note(fitted(made(seen), options()).notes, "km-low"));

  auto outlier = made(seen, 0.05);
  outlier.rows[7].A += 2;
  EXPECT_TRUE(has_note(fitted(outlier, options()).notes, "large-residual"));
}

TEST(Fit, AsManyParametersAsRowsHaveNoIntervals) {
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  const CurveFit f = fitted(made(seen, 0.2, {60, 300, 900, 1700}), o);
  EXPECT_EQ(f.df, 0U);
  EXPECT_FALSE(f.Vcmax.low || f.Vcmax.high || f.Vcmax.se);
  EXPECT_EQ(f.Vcmax.status, Status::not_identified);
  EXPECT_TRUE(has_note(f.notes, "no-degrees-of-freedom"));
}

TEST(Fit, AFlatCurveHasNoCapacities) {
  auto curve = made(seen);
  for (CurveRow& row : curve.rows) row.A = -1.5 - 0.001 * row.Ci;
  const CurveFit f = fitted(curve, options());
  EXPECT_TRUE(has_note(f.notes, "flat"));
}

// --- Errors, word for word -----------------------------------------------------------------------

TEST(FitErrors, AreToldInFull) {
  C3FitOptions none;
  EXPECT_EQ(refused(made(seen), none), "no kinetics set; one named by --kinetics");

  Curve empty;
  empty.curve_id = "empty";
  EXPECT_EQ(refused(empty, options()), "no row can be used; rows with A, and Ci above 0");
  auto marked = made(seen);
  for (CurveRow& row : marked.rows) {
    row.use = false;
    row.why = "use is 0";
  }
  EXPECT_EQ(refused(marked, options()),
            "no row can be used, the last because: use is 0; rows with A, and Ci above 0");

  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  const Curve three = made(seen, 0.2, {60, 300, 900});
  EXPECT_EQ(refused(three, o),
            "3 usable rows at 3 distinct Ci; more than 3 distinct Ci for 3 limitations and "
            "Rday; permit fewer limitations (--limitations) or hold Rday (--rday VALUE)");
  o.rday = {RdaySource::From::value, 1};
  EXPECT_EQ(fitted(three, o).points, 3U) << "with Rday held they are enough";

  o = options();
  o.limitations = LimitationSet{false, true, false};
  o.rday = {RdaySource::From::fraction, 0.015};
  EXPECT_EQ(refused(made(seen), o),
            "Rday is to be a fraction of Vcmax, but rubisco is not permitted; a limitation "
            "set with rubisco; give --rday as a number or free");

  o = options();
  o.limitations = LimitationSet{false, false, true};
  auto low = made(seen);
  low.rows[0].Ci = 40;
  EXPECT_EQ(refused(low, o),
            "row 0 at Ci = 40: TPU cannot limit there, and nothing else is permitted; Ci "
            "above (1 + 3 alpha) GammaStar; permit rubisco or rubp as well");
}

TEST(FitErrors, AnRdayColumnMustHoldOneNumberACurve) {
  auto o = options();
  o.rday = {RdaySource::From::column, 0};
  EXPECT_EQ(refused(made(seen), o),
            "points.csv:2:3: no Rday in the column named by --rday; a number in every row");
  auto curve = made(seen);
  for (CurveRow& row : curve.rows) row.rday = 1.1;
  EXPECT_EQ(*fitted(curve, o).Rday.value, 1.1);
  curve.rows[3].rday = 1.2;
  EXPECT_EQ(refused(curve, o), "points.csv:5:3: Rday 1.2 here and 1.1 above; one Rday per curve");
  for (CurveRow& row : curve.rows) row.rday = -1.1;
  EXPECT_EQ(refused(curve, o),
            "points.csv:2:3: Rday -1.1; 0 or more: respiration is positive; change the "
            "sign");
}

TEST(FitErrors, OneBadCurveStopsNothing) {
  Curve bad = made(seen, 0.2, {60, 300});
  bad.curve_id = "bad";
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  const std::vector<Curve> curves{made(seen), bad, made(no_tpu)};
  const CampaignFit fit = fit_curves(curves, o);
  ASSERT_EQ(fit.fits.size(), 2U);
  ASSERT_EQ(fit.failed.size(), 1U);
  EXPECT_EQ(fit.failed[0].curve_id, "bad");
  EXPECT_TRUE(has_note(fit.notes, "correlation-not-estimated"));
}

TEST(Campaign, ACancelledRunKeepsWhatIsDone) {
  const std::vector<Curve> curves(6, made(seen));
  Cancel cancel;
  std::size_t told = 0;
  const CampaignFit fit = fit_curves(
      curves, options(),
      [&](double, std::string_view) {
        if (++told == 2) cancel.raise();
      },
      &cancel);
  EXPECT_EQ(fit.fits.size(), 2U);
  EXPECT_TRUE(has_note(fit.notes, "interrupted"));
}

// --- Minimum points, budget, bootstrap -----------------------------------------------------------

TEST(Fit, MinimumPointsHoldForEveryState) {
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  auto curve = made(seen, 1.5);
  for (const std::size_t least : {1U, 2U, 3U, 4U}) {
    o.min_points = least;
    const CurveFit f = fitted(curve, o);
    std::array<std::size_t, 3> counts{};
    for (const FittedRow& r : f.rows) ++counts[static_cast<std::size_t>(r.state)];
    for (const std::size_t c : counts) EXPECT_TRUE(c == 0 || c >= least) << least;
  }
}

TEST(Budget, LinesAreRefitsUnderTheStatedStep) {
  auto o = options();
  o.overrides = {};
  o.limitations = LimitationSet{true, true, true};
  o.intervals = IntervalMethod::none;
  const Curve curve = made(seen, 0.1);
  const CurveFit base = fitted(curve, o);
  o.budget = true;
  const CurveFit f = fitted(curve, o);
  const auto line = [&](const std::string& cause, const std::string& step) -> const BudgetLine& {
    for (const BudgetLine& l : f.budget) {
      if (l.cause.find(cause) == 0 && l.step == step) return l;
    }
    ADD_FAILURE() << "no line " << cause << " " << step;
    return f.budget.front();
  };
  const auto change = [&](const CurveFit& now) {
    return 100 * (*now.Vcmax.value / *base.Vcmax.value - 1);
  };
  o.budget = false;

  Curve warm = curve;
  for (CurveRow& row : warm.rows) row.Tleaf += 1;
  EXPECT_NEAR(*line("leaf temperature", "+1 K").Vcmax, change(fitted(warm, o)), 1e-9);
  Curve larger = curve;
  for (CurveRow& row : larger.rows) row.A /= 1.01;
  EXPECT_NEAR(*line("leaf area", "+1 %").Vcmax, 100 * (1 / 1.01 - 1), 1e-9);
  EXPECT_NEAR(*line("leaf area", "+1 %").Vcmax, change(fitted(larger, o)), 1e-9);
  Curve offset = curve;
  for (CurveRow& row : offset.rows) row.A += 0.1;
  EXPECT_NEAR(*line("offset of A", "+0.1 umol m-2 s-1").Rday,
              *fitted(offset, o).Rday.value - *base.Rday.value, 1e-9);
  auto other = o;
  other.electrons = {4.5, 10.5};
  EXPECT_NEAR(*line("electron requirement", "4.5/10.5").J,
              100 * (*fitted(curve, other).J.value / *base.J.value - 1), 1e-9);
  std::size_t sets = 0;
  for (const KineticsSet& set : kinetics_sets()) {
    if (&set == o.kinetics || set.carbon_at != o.kinetics->carbon_at) continue;
    auto with = o;
    with.kinetics = &set;
    EXPECT_NEAR(*line("kinetics", std::string(set.name)).Vcmax, change(fitted(curve, with)), 1e-9);
    ++sets;
  }
  EXPECT_GT(sets, 0U);
}

TEST(Budget, BlendedStatesPullVcmaxDown) {
  auto o = options();
  o.budget = true;
  const CurveFit f = fitted(made(no_tpu, 0), o);
  bool found = false;
  for (const BudgetLine& l : f.budget) {
    if (l.cause.find("states that blend") != 0) continue;
    found = true;
    // A sharp minimum read off a curve that blends (theta 0.98) gives too low a Vcmax.
    EXPECT_LT(*l.Vcmax, -2);
    EXPECT_GT(*l.Vcmax, -25);
    EXPECT_LT(*l.J, 0);
  }
  EXPECT_TRUE(found);
}

TEST(Bootstrap, DependsOnNothingButSeedAndCurve) {
  auto o = options();
  o.intervals = IntervalMethod::bootstrap;
  o.replicates = 300;
  Curve a = made(seen), b = made(no_tpu);
  a.curve_id = "a";
  b.curve_id = "b";
  const std::vector<Curve> forward{a, b}, backward{b, a};
  const CampaignFit first = fit_curves(forward, o), second = fit_curves(backward, o);
  const auto same = [](const Estimate& x, const Estimate& y) {
    EXPECT_EQ(x.low, y.low);
    EXPECT_EQ(x.high, y.high);
    EXPECT_TRUE(x.low && x.high);
  };
  same(first.fits[0].Vcmax, second.fits[1].Vcmax);
  same(first.fits[1].Vcmax, second.fits[0].Vcmax);
  same(first.fits[0].Rday, second.fits[1].Rday);
  o.seed = 2;
  EXPECT_NE(fit_curves(forward, o).fits[0].Vcmax.low, first.fits[0].Vcmax.low);
}

TEST(Bootstrap, IsAsWideAsTheProfileWithinReason) {
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  const CurveFit profile = fitted(made(seen), o);
  o.intervals = IntervalMethod::bootstrap;
  const CurveFit bootstrap = fitted(made(seen), o);
  const double wide = *profile.Vcmax.high - *profile.Vcmax.low;
  const double other = *bootstrap.Vcmax.high - *bootstrap.Vcmax.low;
  EXPECT_GT(other, 0.6 * wide);
  EXPECT_LT(other, 1.4 * wide);
  EXPECT_EQ(profile.ssr, bootstrap.ssr);
}

TEST(Fit, ARunnerUpFitsWorseAndIsAnotherLeaf) {
  auto o = options();
  o.limitations = LimitationSet{true, true, true};
  std::size_t found = 0;
  for (std::uint32_t k = 0; k < 60; ++k) {
    const auto c = stress::campaign_curve(77, k);
    const CurveFit f = fitted(coverage::as_curve(c, std::to_string(k)), coverage::options_for(c));
    if (!f.runner_up) continue;
    ++found;
    EXPECT_GE(f.runner_up->ssr, f.ssr);
  }
  EXPECT_GT(found, 5U);
}

}  // namespace
}  // namespace leafwright
