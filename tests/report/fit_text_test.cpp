#include "report/fit_text.hpp"

#include <gtest/gtest.h>

#include "report/curve_text.hpp"
#include "report/documents.hpp"

namespace leafwright {
namespace {

bool contains(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

std::string last_line_of(const std::string& text) {
  const std::size_t end = text.find_last_not_of('\n');
  return text.substr(text.rfind('\n', end) + 1, end - text.rfind('\n', end));
}

TEST(FitText, SaysWhatTheDataDoNotTell) {
  fixtures::Documents campaign;
  const std::string text = fit_text(campaign.document());
  EXPECT_TRUE(contains(text, "> 7.90")) << text;
  EXPECT_TRUE(contains(text, "not identified")) << text;
  EXPECT_FALSE(contains(text, "nan")) << text;
  EXPECT_FALSE(contains(text, "inf ")) << text;
}

TEST(FitText, NamesWhatFailedAndEndsWithTheCount) {
  fixtures::Documents campaign;
  const std::string text = fit_text(campaign.document());
  EXPECT_TRUE(contains(text, "a, \"b\": only 1 distinct Ci; 4 are needed")) << text;
  EXPECT_TRUE(contains(text, "leaf 9: no row could be read")) << text;
  EXPECT_EQ(last_line_of(text),
            "3 of 5 curves fitted; 2 certified as the best there is; 2 could not be");
}

TEST(FitText, CurvesThatFailedForOneReasonStandTogether) {
  fixtures::Documents campaign;
  campaign.document().unread_curves.push_back({"leaf.csv", "leaf 10", "no row could be read"});
  const std::string text = fit_text(campaign.document());
  EXPECT_TRUE(contains(text, "\n  leaf 9, leaf 10: no row could be read\n")) << text;
}

TEST(FitText, OneCurveIsShownInFull) {
  fixtures::Documents campaign;
  CampaignFit& fits = campaign.campaign();
  fits.fits.resize(1);
  fits.failed.clear();
  campaign.document().unread_curves.clear();
  campaign.document().curves = campaign.document().curves.first(1);
  const std::string text = fit_text(campaign.document());
  EXPECT_TRUE(contains(text, "58.7-63.7")) << text;
  EXPECT_TRUE(contains(text, "what else moves them")) << text;
  EXPECT_TRUE(contains(text, "-5.2")) << text;
  EXPECT_TRUE(contains(text, "+0.03")) << text;
  EXPECT_TRUE(contains(text, "next local minimum: ssr 4.5, Vcmax 58.0, J 118.0, Rday 1.00"));
  EXPECT_TRUE(contains(text, "13 of 15 rows used")) << text;
  EXPECT_EQ(last_line_of(text),
            "1 of 1 curve fitted; no other parameters fit any of them better (certified)");
}

TEST(FitText, CurvesNotReachedAreCounted) {
  fixtures::Documents campaign;
  campaign.campaign().fits.resize(1);
  EXPECT_TRUE(contains(last_line_of(fit_text(campaign.document())), "2 not reached"));
}

TEST(EstimateText, ABoundHidesTheValueBesideIt) {
  Estimate e;
  e.symbol = "J";
  e.status = Status::lower_bound;
  e.value = 240.0;
  e.low = 150.0;
  EXPECT_EQ(estimate_text(e, 1), "> 150.0");
  e.status = Status::upper_bound;
  e.high = 12.0;
  EXPECT_EQ(estimate_text(e, 1), "< 12.0");
  e.status = Status::fixed;
  EXPECT_EQ(estimate_text(e, 1), "240.0 fixed");
  e.status = Status::not_identified;
  EXPECT_EQ(estimate_text(e, 1), "not identified");
}

TEST(IntervalWords, OpenEnds) {
  EXPECT_EQ(interval_words(58.6, 64.1, 1), "58.6-64.1");
  EXPECT_EQ(interval_words(7.94, {}, 1), "> 7.9");
  EXPECT_EQ(interval_words({}, 64.0, 1), "< 64.0");
  EXPECT_EQ(interval_words({}, {}, 1), "open");
}

TEST(FixedText, ARoundedZeroHasNoSign) {
  EXPECT_EQ(fixed_text(-0.001, 2), "0.00");
  EXPECT_EQ(fixed_text(-0.01, 2), "-0.01");
  EXPECT_EQ(fixed_text(2.5e9, 1), "2.5e+09");
}

}  // namespace
}  // namespace leafwright
