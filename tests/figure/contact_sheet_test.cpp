#include "figure/contact_sheet.hpp"

#include <gtest/gtest.h>

#include <set>

#include "figure_checks.hpp"
#include "fixtures.hpp"

namespace leafwright {
namespace {

using fixtures::check_figure;
using fixtures::Sample;

struct Campaign {
  std::vector<Sample> samples;
  std::vector<SheetCurve> curves;
};

// Every 10th failed, every 7th not certified, every 5th with a warning.
Campaign campaign(std::size_t n) {
  Campaign c;
  for (std::size_t i = 0; i < n; ++i) {
    const double v = 20 + static_cast<double>(i * 37 % 90);
    Sample s = fixtures::sample("leaf " + std::to_string(i), {v, 1.8 * v, fixtures::infinity, 0.9},
                                fixtures::usual_Ci, 0.2 + 0.1 * static_cast<double>(i % 7));
    s.fit.certified = i % 7 != 3;
    if (i % 5 == 2) s.fit.notes.push_back({NoteLevel::warning, "k", "look here"});
    c.samples.push_back(std::move(s));
  }
  for (std::size_t i = 0; i < n; ++i) {
    const Sample& s = c.samples[i];
    c.curves.push_back(
        {&s.curve, i % 10 == 9 ? nullptr : &s.fit, i % 10 == 9 ? "too few rows" : ""});
  }
  return c;
}

TEST(ContactSheet, TwentyFourCurvesOnOnePrintablePage) {
  const Campaign c = campaign(24);
  for (const Theme theme : {Theme::light, Theme::dark}) {
    ContactSheetOptions options;
    options.theme = theme;
    const auto pages = contact_sheet(c.curves, options).value();
    ASSERT_EQ(pages.size(), 1U);
    const auto all = check_figure(pages[0], theme == Theme::dark);
    EXPECT_EQ(fixtures::with_attribute(all, "data-curve").size(), 24U);
    EXPECT_EQ(fixtures::with_attribute(all, "data-row").size(), 24U * 13U);
    const std::string height = all[0].get("height");
    EXPECT_LE(std::stod(height.substr(0, height.size() - 2)), 225);
  }
}

TEST(ContactSheet, ManyCurvesFillPagesAndNoneIsLost) {
  const Campaign c = campaign(555);
  const auto pages = contact_sheet(c.curves, {}).value();
  ASSERT_EQ(pages.size(), 24U);  // 555 / 24, rounded up
  std::set<std::string> ids;
  for (const std::string& page : pages) {
    for (const auto& e : fixtures::with_attribute(fixtures::read_svg(page), "data-curve")) {
      EXPECT_TRUE(ids.insert(e.get("data-curve")).second);
    }
  }
  EXPECT_EQ(ids.size(), 555U);
  check_figure(pages.back());
}

TEST(ContactSheet, OneTallPageWithRowsZero) {
  const Campaign c = campaign(50);
  ContactSheetOptions options;
  options.rows = 0;
  options.columns = 6;
  const auto pages = contact_sheet(c.curves, options).value();
  ASSERT_EQ(pages.size(), 1U);
  EXPECT_EQ(fixtures::with_attribute(check_figure(pages[0]), "data-curve").size(), 50U);
}

TEST(ContactSheet, WorstComesFirst) {
  Campaign c = campaign(6);
  for (Sample& s : c.samples) s.fit.certified = true, s.fit.notes.clear(), s.fit.rmse = 0.1;
  c.curves[5].fit = nullptr;                                // failed
  c.samples[4].fit.certified = false;                       // not certified
  c.samples[3].fit.notes = {{NoteLevel::warning, "", ""}};  // a warning
  c.samples[2].fit.notes = {{NoteLevel::caution, "", ""}};  // a caution
  c.samples[1].fit.rmse = 5;                                // large residuals
  EXPECT_EQ(worst_first(c.curves), (std::vector<std::size_t>{5, 4, 3, 2, 1, 0}));
  const auto all = fixtures::read_svg(contact_sheet(c.curves, {})->at(0));
  const auto groups = fixtures::with_attribute(all, "data-curve");
  EXPECT_EQ(groups.front().get("data-curve"), "leaf 5");
  EXPECT_EQ(groups.back().get("data-curve"), "leaf 0");
}

TEST(ContactSheet, EqualsKeepTheirOrder) {
  const Sample s = fixtures::typical();
  const std::vector<SheetCurve> curves(5, SheetCurve{&s.curve, &s.fit, ""});
  EXPECT_EQ(worst_first(curves), (std::vector<std::size_t>{0, 1, 2, 3, 4}));
}

TEST(ContactSheet, ScoreIsDefinedWithoutResiduals) {
  Sample s = fixtures::typical();
  s.fit.rmse = fixtures::nan;
  EXPECT_EQ(sheet_score({&s.curve, &s.fit, ""}).relative_rmse, fixtures::infinity);
  s.fit.rmse = 0.5;
  s.fit.rows.resize(1);
  EXPECT_EQ(sheet_score({&s.curve, &s.fit, ""}).relative_rmse, fixtures::infinity);
}

TEST(ContactSheet, FlagsHaveShapesAndWords) {
  const Campaign c = campaign(24);
  const std::string page = contact_sheet(c.curves, {})->at(0);
  for (const char* words : {"not fitted", "not certified", "has a warning"}) {
    EXPECT_NE(page.find(std::string("<title>") + words + "</title>"), std::string::npos) << words;
  }
  const auto all = fixtures::read_svg(page);
  EXPECT_TRUE(fixtures::has_text(all, "too few rows") ||
              fixtures::has_text(all, "Not fitted: too few"));
}

TEST(ContactSheet, SameAxesForAll) {
  const Campaign c = campaign(8);
  ContactSheetOptions options;
  options.same_axes = true;
  check_figure(contact_sheet(c.curves, options)->at(0));
}

TEST(ContactSheet, SurvivesAbsurdCurves) {
  Campaign c = campaign(4);
  c.samples[0].curve.rows.clear();
  c.samples[0].fit.rows.clear();
  c.samples[1].curve.rows[0].A = 1e300;
  c.samples[1].curve.rows[1].A = -1e300;
  c.samples[2].curve.rows[3].A = fixtures::nan;
  c.samples[2].curve.curve_id = "<&\" 葉 \xff" + std::string(400, 'W');
  c.samples[3].fit.J.value = 1e300;
  for (const int columns : {1, 2, 6}) {
    ContactSheetOptions options;
    options.columns = columns;
    for (const bool same : {false, true}) {
      options.same_axes = same;
      check_figure(contact_sheet(c.curves, options)->at(0));
    }
  }
}

TEST(ContactSheet, RefusesWhatCannotBeLaidOut) {
  const Campaign c = campaign(2);
  const auto with = [&](auto change) {
    ContactSheetOptions options;
    change(options);
    return contact_sheet(c.curves, options);
  };
  EXPECT_EQ(with([](auto& o) { o.columns = 8; }).error().text(),
            "8 columns in 180 mm; expected 1 to 12 columns, each at least 25 mm wide");
  EXPECT_FALSE(with([](auto& o) { o.columns = 0; }));
  EXPECT_FALSE(with([](auto& o) { o.rows = -1; }));
  EXPECT_FALSE(with([](auto& o) { o.width_mm = fixtures::nan; }));
  EXPECT_FALSE(contact_sheet({}, {}));
  EXPECT_FALSE(contact_sheet({SheetCurve{}}, {}));
}

TEST(ContactSheet, SameInputSameBytes) {
  const Campaign c = campaign(30);
  EXPECT_EQ(contact_sheet(c.curves, {}).value(), contact_sheet(c.curves, {}).value());
}

}  // namespace
}  // namespace leafwright
