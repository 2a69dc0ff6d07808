// Flags on values outside published ranges: raised where they should be, silent elsewhere, and
// never more than a note.
#include "fit/plausible.hpp"

#include <gtest/gtest.h>

#include <algorithm>

#include "fit/pathway.hpp"
#include "leaf/c3.hpp"

namespace leafwright {
namespace {

Estimate known(const char* symbol, double value, Status status = Status::estimated) {
  Estimate e;
  e.symbol = symbol;
  e.status = status;
  e.value = value;
  return e;
}

/// A fit at 25 degC and 100 kPa that holds these values as estimates.
CurveFit holding(double Vcmax, double J, double TPU, double Rday) {
  CurveFit fit;
  fit.Tleaf = 25;
  fit.Patm = 100;
  fit.Vcmax = known("Vcmax", Vcmax);
  fit.J = known("J", J);
  fit.TPU = known("TPU", TPU);
  fit.Rday = known("Rday", Rday);
  for (const double Ci : {50.0, 150.0, 400.0, 900.0}) {
    FittedRow row;
    row.Ci = Ci;
    fit.rows.push_back(row);
  }
  return fit;
}

std::vector<std::string> flags_of(CurveFit fit) {
  flag_ranges(fit);
  std::vector<std::string> out;
  for (const Note& note : fit.notes) {
    EXPECT_TRUE(is_range_flag(note.about)) << note.about;
    EXPECT_EQ(note.level, NoteLevel::caution);
    out.push_back(note.about);
  }
  return out;
}

using Keys = std::vector<std::string>;

TEST(RangeFlags, AUsualLeafHasNone) {
  EXPECT_EQ(flags_of(holding(60, 110, 9, 1.0)), Keys{});
}

TEST(RangeFlags, EachSideOfEachRange) {
  EXPECT_EQ(flags_of(holding(200, 360, 20, 2)), Keys{"range-vcmax"});
  EXPECT_EQ(flags_of(holding(5.5, 18, 5, 0.1)),
            (Keys{"range-vcmax", "range-tpu-vcmax"}));  // TPU 5 is far for Vcmax 5.5
  EXPECT_EQ(flags_of(holding(190, 380, 20, 2)), Keys{"range-j"});
  EXPECT_EQ(flags_of(holding(17, 16, 5, 0.2)), Keys{"range-j"});
  EXPECT_EQ(flags_of(holding(60, 54, 9, 1)), Keys{"range-j-vcmax"});
  EXPECT_EQ(flags_of(holding(60, 200, 9, 1)), Keys{"range-j-vcmax"});
  EXPECT_EQ(flags_of(holding(50, 90, 4.8, 1)), Keys{"range-tpu"});
  EXPECT_EQ(flags_of(holding(100, 170, 20.2, 1)), Keys{"range-tpu"});
  EXPECT_EQ(flags_of(holding(60, 110, 9, 3.6)), Keys{"range-rday-vcmax"});
}

TEST(RangeFlags, RatiosAreJudgedAt25Only) {
  CurveFit fit = holding(60, 54, 9, 1);
  fit.Tleaf = 35;
  EXPECT_EQ(flags_of(fit), Keys{});  // J/Vcmax falls with temperature
  fit.at25 = {{"Vcmax25", 30, {}, {}}, {"J25", 40, {}, {}}};
  EXPECT_EQ(flags_of(fit), Keys{});
  fit.at25[1].value = 25;
  EXPECT_EQ(flags_of(fit), Keys{"range-j-vcmax"});
}

TEST(RangeFlags, WhereThereIsAJmaxItIsJudgedAndJIsNot) {
  CurveFit fit = holding(60, 54, 9, 1);  // J of little light
  fit.more.push_back(known("Jmax", 110));
  EXPECT_EQ(flags_of(fit), Keys{});
  fit.more.back().value = 210;
  EXPECT_EQ(flags_of(fit), Keys{"range-jmax-vcmax"});
  fit.more.back().value = 380;
  EXPECT_EQ(flags_of(fit), (Keys{"range-jmax", "range-jmax-vcmax"}));
  fit.more.back().status = Status::lower_bound;  // no Jmax: J is judged again
  fit.more.back().value.reset();
  fit.more.back().low = 60;
  EXPECT_EQ(flags_of(fit), Keys{"range-j-vcmax"});
}

TEST(RangeFlags, ABoundIsJudgedByWhatItLeavesOpen) {
  CurveFit fit = holding(60, 110, 9, 1);
  fit.J = known("J", 9999, Status::lower_bound);
  fit.J.low = 300;
  EXPECT_EQ(flags_of(fit), Keys{});  // 300 to 372 is still possible
  fit.J.low = 373;
  EXPECT_EQ(flags_of(fit), Keys{"range-j"});
}

TEST(RangeFlags, AnIntervalThatReachesInIsSaid) {
  CurveFit fit = holding(200, 360, 20, 2);
  fit.Vcmax.low = 195;
  fit.Vcmax.high = 210;
  flag_ranges(fit);
  EXPECT_EQ(fit.notes.at(0).text.find("interval reaches"), std::string::npos);
  fit.notes.clear();
  fit.Vcmax.low = 190;
  flag_ranges(fit);
  EXPECT_NE(fit.notes.at(0).text.find("interval reaches"), std::string::npos);
}

TEST(RangeFlags, GmIsJudgedPerBarAndOnlyWhereThePathwayFits) {
  CurveFit fit = holding(60, 110, 9, 1);
  fit.Vcmax.symbol = "Vcmax_gm";  // a published Vcmax is an apparent one
  fit.Vcmax.value = 500;
  fit.more.push_back(known("gm", 0.45));
  EXPECT_EQ(flags_of(fit), Keys{});
  fit.Patm = 80;  // 0.45 per mole fraction is 0.5625 per bar
  EXPECT_EQ(flags_of(fit), Keys{"range-gm"});
  fit.pathway = "C4";
  EXPECT_EQ(flags_of(fit), Keys{});
}

TEST(RangeFlags, SpanOfCi) {
  CurveFit fit = holding(60, 110, 9, 1);
  fit.rows.erase(fit.rows.begin(), fit.rows.begin() + 2);  // 400 and 900: 40 and 90 Pa
  EXPECT_EQ(flags_of(fit), Keys{"range-ci-low"});
  fit.rows.front().Ci = 100;
  fit.rows.back().Ci = 290;  // 29 Pa
  EXPECT_EQ(flags_of(fit), Keys{"range-ci-high"});
  fit.rows.back().Ci = 310;
  EXPECT_EQ(flags_of(fit), Keys{});
  fit.rows.back().Ci = 290;
  fit.Tleaf = 31;
  EXPECT_EQ(flags_of(fit), Keys{});
}

/// Rows of the model with `offset` added to A.
Curve curve_of(const C3Leaf& leaf, double offset) {
  const auto kinetics = find_kinetics("bernacchi-2001");
  const auto k = kinetics_at(**kinetics, 25, 100, Basis::partial_pressure, {});
  Curve curve;
  curve.curve_id = "made";
  std::size_t row = 0;
  for (const double Ci : {50.0, 90.0, 140.0, 200.0, 300.0, 450.0, 700.0, 1000.0, 1400.0}) {
    CurveRow r;
    r.row = row++;
    r.Ci = Ci;
    r.A = c3_assimilation(Ci, leaf, *k, {}, 0).A + offset;
    r.Tleaf = 25;
    r.Patm = 100;
    curve.rows.push_back(r);
  }
  return curve;
}

TEST(RangeFlags, AreAddedToEveryFitAndChangeNoNumber) {
  const C3Leaf leaf{60, 110, 1e9, 1.0};
  const std::vector<Curve> curves{curve_of(leaf, 0), curve_of(leaf, 3.0)};
  Settings settings(fit_settings());
  const auto method = fit_method(Pathway::c3, settings);
  ASSERT_TRUE(method);
  const CampaignFit all = fit_all(curves, *method);
  ASSERT_EQ(all.fits.size(), 2U);
  const auto flagged = [](const CurveFit& fit, std::string_view key) {
    return std::any_of(fit.notes.begin(), fit.notes.end(),
                       [&](const Note& note) { return note.about == key; });
  };
  EXPECT_FALSE(flagged(all.fits[0], "range-rday-zero"));
  // A reads 3 too high everywhere, so the rows ask for Rday = -2.
  EXPECT_TRUE(flagged(all.fits[1], "range-rday-zero"));
  const auto alone = fit_curve(curves[1], std::get<C3FitOptions>(*method), all.correlation);
  ASSERT_TRUE(alone);
  EXPECT_EQ(alone->Vcmax.value, all.fits[1].Vcmax.value);
  EXPECT_EQ(alone->Rday.value, all.fits[1].Rday.value);
}

}  // namespace
}  // namespace leafwright
