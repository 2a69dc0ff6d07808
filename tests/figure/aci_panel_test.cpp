#include "figure/aci_panel.hpp"

#include <gtest/gtest.h>

#include <set>

#include "figure/aci_marks.hpp"
#include "figure_checks.hpp"
#include "fixtures.hpp"

namespace leafwright {
namespace {

using fixtures::check_figure;
using fixtures::has_text;
using fixtures::Sample;
using Elements = std::vector<fixtures::Element>;

AciPanelOptions wide(double width_mm, Theme theme = Theme::light) {
  AciPanelOptions options;
  options.width_mm = width_mm;
  options.theme = theme;
  return options;
}

Elements drawn(const Sample& s, const AciPanelOptions& options = wide(85)) {
  return check_figure(aci_panel(s.fit, s.curve, options).value(), options.theme == Theme::dark);
}

// Lines carry their series' name as a tooltip.
std::size_t lines_named(const Elements& all, const std::string& name) {
  return static_cast<std::size_t>(std::count_if(
      all.begin(), all.end(), [&](const auto& e) { return e.name == "path" && e.title == name; }));
}

TEST(AciPanel, HoldsInEveryWidthAndTheme) {
  for (const double width : {60.0, 85.0, 120.0, 149.0, 150.0, 180.0, 400.0}) {
    for (const Theme theme : {Theme::light, Theme::dark}) {
      for (const Sample& s :
           {fixtures::typical(), fixtures::without_tpu(), fixtures::j_not_identified()}) {
        drawn(s, wide(width, theme));
      }
    }
  }
  EXPECT_FALSE(aci_panel(fixtures::typical().fit, fixtures::typical().curve, wide(20)));
}

TEST(AciPanel, EveryRowIsAMarkWithItsPlace) {
  const Sample s = fixtures::typical();
  std::multiset<std::string> rows;
  for (const auto& e : fixtures::with_attribute(drawn(s), "data-row")) {
    rows.insert(e.get("data-row"));
    EXPECT_EQ(std::stoul(e.get("data-line")), std::stoul(e.get("data-row")) + 3);
    EXPECT_NE(e.title.find("row " + e.get("data-row") + " (line "), std::string::npos);
  }
  for (std::size_t i = 0; i < s.curve.rows.size(); ++i) {
    const bool used = i < 13;  // used rows stand in both panels
    EXPECT_EQ(rows.count(std::to_string(i)), used ? 2U : 1U) << i;
  }
}

TEST(AciPanel, TooltipTellsRowLineValuesAndState) {
  CurveRow row = fixtures::row_at(7, 402.1, 18.2);
  row.place.line = 12;
  EXPECT_EQ(row_tooltip(row, "rubisco"), "row 7 (line 12): Ci 402.1, A 18.2, rubisco");
  row.A = fixtures::nan;
  row.place.line = 0;
  EXPECT_EQ(row_tooltip(row, "not used"), "row 7: Ci 402.1, A none, not used");
}

TEST(AciPanel, UnusedRowsAreCrossesWithTheirReason) {
  const auto all = drawn(fixtures::typical());
  std::size_t crosses = 0;
  for (const auto& e : fixtures::with_attribute(all, "data-row")) {
    if (e.title.find("not used: not stable") == std::string::npos) continue;
    ++crosses;
    EXPECT_EQ(e.name, "path");
    EXPECT_EQ(all[e.parent].get("class"), "s-muted");
  }
  EXPECT_EQ(crosses, 1U);
  EXPECT_TRUE(has_text(all, "Not used (×): row 13 (line 16) not stable"));
}

TEST(AciPanel, ARowTheFitDidNotTakeIsNotUsed) {
  Sample s = fixtures::typical();
  s.fit.rows.erase(s.fit.rows.begin() + 4);
  const auto series = state_points(s.fit, s.curve);
  ASSERT_EQ(series.back().marks.size(), 3U);
  EXPECT_EQ(series.back().marks[0].row, 4U);
}

TEST(AciPanel, StatesDifferInShapeDashAndColour) {
  std::set<Ink> inks;
  std::set<Shape> shapes = {unused_style.shape, plain_style.shape};
  std::set<Dash> dashes = {Dash::solid};
  for (const Limitation s : {Limitation::rubisco, Limitation::rubp, Limitation::tpu}) {
    EXPECT_TRUE(inks.insert(state_style(s).ink).second);
    if (s != Limitation::rubisco) {  // shares the circle of curves without a fit
      EXPECT_TRUE(shapes.insert(state_style(s).shape).second);
    }
    EXPECT_TRUE(dashes.insert(state_style(s).dash).second);
  }
}

TEST(AciPanel, DrawsTheLimitsThatAreKnown) {
  const auto all = drawn(fixtures::typical());
  for (const char* name : {"Rubisco", "RuBP", "TPU", "model"}) {
    EXPECT_EQ(lines_named(all, name), 1U) << name;
  }
  EXPECT_TRUE(has_text(all, "Ci 550"));
  EXPECT_TRUE(has_text(all, "58.7 to 63.7"));
  EXPECT_TRUE(has_text(all, "57.7 to 64.7"));  // widened
  EXPECT_TRUE(has_text(all, "Certified: yes"));
  EXPECT_TRUE(has_text(all, "13 of 15 rows used"));
  EXPECT_TRUE(has_text(all, "bernacchi-2001"));
}

TEST(AciPanel, WhatIsNotIdentifiedHasNoLineAndNoNumber) {
  const Sample s = fixtures::j_not_identified();
  const auto all = drawn(s);
  EXPECT_EQ(lines_named(all, "Rubisco"), 1U);
  EXPECT_EQ(lines_named(all, "RuBP"), 0U);
  EXPECT_TRUE(has_text(all, "not identified"));
  EXPECT_TRUE(has_text(all, "Certified: no"));
  EXPECT_TRUE(has_text(all, "Warning: no used point is limited by RuBP"));
  Sample vague = fixtures::typical();  // a value in the leaf, but the data do not support it
  vague.fit.J.status = Status::not_identified;
  EXPECT_FALSE(has_line(vague.fit, Limitation::rubp));
  EXPECT_EQ(lines_named(drawn(vague), "RuBP"), 0U);
}

TEST(AciPanel, OpenEndsAreBoundsNotNumbers) {
  const auto all = drawn(fixtures::without_tpu());
  EXPECT_TRUE(has_text(all, "> 7.9"));
  EXPECT_TRUE(has_text(all, "lower bound"));
  EXPECT_EQ(lines_named(all, "TPU"), 0U);
  EXPECT_EQ(interval_text(std::nullopt, 64.0), "< 64");
  EXPECT_EQ(interval_text(-2.0, 6.0), "−2 to 6");
  EXPECT_EQ(interval_text(std::nullopt, std::nullopt), "open");
  EXPECT_EQ(interval_text(3.0, fixtures::infinity), "> 3");
}

TEST(AciPanel, ValuesInWords) {
  Estimate e;
  EXPECT_EQ(value_text(e), "not identified");
  e.status = Status::fixed;
  e.value = 0.9;
  EXPECT_EQ(value_text(e), "0.9 (fixed)");
  e.status = Status::estimated;
  EXPECT_EQ(value_text(e), "0.9");
  e.status = Status::upper_bound;
  e.value.reset();
  e.high = 4.25;
  EXPECT_EQ(value_text(e), "< 4.25");
}

TEST(AciPanel, ModelPassesThroughTheFit) {
  // The line is the minimum of carboxylation rates, so it equals A_model at each fitted row.
  const Sample s = fixtures::typical();
  std::vector<double> grid;
  for (const FittedRow& row : s.fit.rows) grid.push_back(row.Ci);
  const LineSeries line = model_line(s.fit, grid);
  for (std::size_t i = 0; i < grid.size(); ++i) {
    EXPECT_DOUBLE_EQ(line.points[i].y, s.fit.rows[i].A_model);
  }
}

TEST(AciPanel, SurvivesAbsurdValues) {
  Sample s = fixtures::typical();
  s.curve.rows[5].A = 1e6;
  s.curve.rows[2].A = -300;
  s.curve.rows[3].A = fixtures::nan;
  s.curve.rows[4].Ci = fixtures::infinity;
  s.curve.rows[6].Ci = -40;
  s.fit.rows[3].residual = fixtures::nan;
  s.fit.Vcmax.value = 123456789.0;
  s.fit.Vcmax.high = 1.5e12;
  s.fit.J.value = fixtures::infinity;
  s.fit.rmse = s.fit.Tleaf = s.fit.Patm = fixtures::nan;
  s.fit.kinetics.Km = fixtures::nan;
  s.fit.transitions.push_back({Limitation::rubp, Limitation::tpu, fixtures::nan});
  for (const double width : {60.0, 85.0, 180.0}) drawn(s, wide(width));
  EXPECT_TRUE(has_text(drawn(s), "Tleaf unknown"));
  s.fit.rows.clear();
  drawn(s);
  s.curve.rows.clear();
  drawn(s);
}

TEST(AciPanel, ARampDoesNotHideItsModel) {
  std::vector<double> Ci;
  for (int i = 0; i < 300; ++i) Ci.push_back(50 + 5.0 * i);
  const Sample ramp = fixtures::sample("ramp", {61, 120, 8.6, 1.1}, Ci);
  for (const Theme theme : {Theme::light, Theme::dark}) {
    for (const double width : {85.0, 180.0}) {
      const auto all = drawn(ramp, wide(width, theme));
      EXPECT_EQ(fixtures::with_attribute(all, "data-row").size(), 600U);
      std::size_t model = 0;
      std::size_t last_point = 0;  // of the upper panel, which comes first
      for (std::size_t i = 0; i < all.size(); ++i) {
        if (all[i].title == "model") model = i;
        const bool upper = all[i].title.find("residual") == std::string::npos;
        if (all[i].has("data-row") && upper) last_point = i;
      }
      EXPECT_GT(model, last_point);
    }
  }
}

TEST(AciPanel, EscapesIdsAndReasons) {
  Sample s = fixtures::typical();
  s.fit.curve_id = "Bl\xe4tt <b>&\"x\"</b> 葉 " + std::string(300, 'w');
  s.curve.rows.back().why = "<script>alert('&')</script>";
  const std::string svg = aci_panel(s.fit, s.curve, wide(85)).value();
  EXPECT_EQ(svg.find("<script"), std::string::npos);
  EXPECT_EQ(svg.find("<b>"), std::string::npos);
  const auto all = check_figure(svg);
  EXPECT_TRUE(has_text(all, "<script>alert('&')</script>"));
}

TEST(AciPanel, ManyNotesAndUnusedRowsStayOnAPage) {
  Sample s = fixtures::typical();
  for (CurveRow& row : s.curve.rows) row.use = false, row.why = "outside the window";
  s.fit.rows.clear();
  for (int i = 0; i < 40; ++i) s.fit.notes.push_back({NoteLevel::caution, "k", "look at this"});
  const auto all = drawn(s);
  EXPECT_TRUE(has_text(all, "and 9 more"));
  EXPECT_TRUE(has_text(all, "And 34 more notes."));
  const std::string height = all[0].get("height");
  EXPECT_LE(std::stod(height.substr(0, height.size() - 2)), 225);  // common journals' page, mm
}

TEST(AciPanel, SameInputSameBytes) {
  const Sample s = fixtures::typical();
  EXPECT_EQ(aci_panel(s.fit, s.curve, wide(120)).value(),
            aci_panel(s.fit, s.curve, wide(120)).value());
}

TEST(FailedPanel, ShowsPointsAndTheReason) {
  const Sample s = fixtures::typical();
  const FailedCurve failed{s.curve.curve_id, "only 2 distinct Ci levels"};
  const auto all = check_figure(failed_panel(failed, s.curve, wide(85)).value());
  EXPECT_EQ(fixtures::with_attribute(all, "data-row").size(), s.curve.rows.size());
  EXPECT_TRUE(has_text(all, "Not fitted: only 2 distinct Ci levels"));
  EXPECT_NE(all[2].text.find("only 2 distinct Ci levels"), std::string::npos);
  EXPECT_EQ(lines_named(all, "model"), 0U);
  Curve one;
  one.rows = {fixtures::row_at(0, 400, 10)};
  check_figure(failed_panel({"", ""}, one, wide(180)).value());
  one.rows.clear();
  EXPECT_TRUE(has_text(check_figure(failed_panel({"empty", "no rows"}, one, wide(60)).value()),
                       "no row with a number"));
}

}  // namespace
}  // namespace leafwright
