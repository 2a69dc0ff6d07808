// The whole comparison: verdicts, what is left out, order, curves and points.
#include "stats/agreement.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.hpp"
#include "stats/agreement_settings.hpp"

namespace leafwright {
namespace {

MethodCurve curve_with(double vcmax, double se) {
  MethodCurve curve;
  curve.curve_id = "c";
  curve.parameters.push_back({"Vcmax", "umol m-2 s-1", vcmax, se, ""});
  return curve;
}

/// Leaves whose first method gives `ratio` times the second with a scatter of `sd` on logs.
AgreementInput leaves(std::size_t n, double ratio, double sd, double se = 0.1) {
  AgreementInput input;
  input.methods = {"ramp", "steady"};
  RandomStream draw(3, "leaves", "agreement-test");
  for (std::size_t i = 0; i < n; ++i) {
    LeafPair pair;
    pair.leaf = "L" + std::to_string(i);
    pair.plant = "P" + std::to_string(i);
    pair.curve[1] = curve_with(50 + static_cast<double>(i), se);
    pair.curve[0] =
        curve_with((50 + static_cast<double>(i)) * ratio * std::exp(sd * draw.normal()), se);
    input.pairs.push_back(std::move(pair));
  }
  return input;
}

AgreementRules rules(std::optional<double> margin = 0.1) {
  AgreementRules out;
  out.margin = margin;
  out.resamples = 200;
  return out;
}

std::string verdict(const AgreementInput& input, const AgreementRules& r) {
  return analyse_agreement(input, r)->parameters.at(0).verdict;
}

bool has_note(const Notes& notes, const std::string& about) {
  return std::any_of(notes.begin(), notes.end(), [&](const Note& n) { return n.about == about; });
}

TEST(Agreement, VerdictsSayWhatIsShown) {
  EXPECT_EQ(verdict(leaves(20, 1, 0.02), rules()), "equivalent within the stated margin");
  EXPECT_EQ(verdict(leaves(20, 1.05, 0.02), rules()),
            "equivalent within the stated margin, though a difference smaller than that is shown");
  EXPECT_EQ(verdict(leaves(20, 1.4, 0.05), rules()), "different beyond the margin");
  const std::string small = verdict(leaves(6, 1, 0.12), rules());
  EXPECT_EQ(small.rfind("not shown either way: with 6 leaves", 0), 0U) << small;
  EXPECT_NE(small.find("leaves would show it with a chance of 0.8"), std::string::npos) << small;
}

TEST(Agreement, AVerdictFromVeryFewIsSaidToBeOne) {
  const std::string two = verdict(leaves(2, 1, 0.0005), rules());
  EXPECT_EQ(two.rfind("equivalent within the stated margin, ", 0), 0U) << two;
  EXPECT_NE(two.find("from 2 leaves only, whose scatter says little of others"), std::string::npos)
      << two;
  EXPECT_NE(verdict(leaves(3, 1.4, 0.001), rules()).find("from 3 leaves only"), std::string::npos);
  EXPECT_EQ(verdict(leaves(4, 1, 0.001), rules()).find("only"), std::string::npos);
}

// What is not significant is never printed as agreement.
TEST(Agreement, WithoutAMarginThereIsNoEquivalence) {
  const auto result = analyse_agreement(leaves(20, 1, 0.02), rules({}));
  const Comparison& c = result->parameters.at(0);
  EXPECT_FALSE(c.equivalence);
  EXPECT_GT(*c.summary->p, 0.05);
  EXPECT_NE(c.verdict.find("no difference is shown, which is not agreement"), std::string::npos);
  EXPECT_EQ(c.verdict.find("equivalent within"), std::string::npos);
  EXPECT_NE(verdict(leaves(20, 1.4, 0.05), rules({})).find("a difference is shown"),
            std::string::npos);
}

TEST(Agreement, CensoredAndImpossibleValuesAreLeftOutAndNamed) {
  AgreementInput input = leaves(6, 1, 0.02);
  input.pairs[1].curve[0].parameters[0] = {
      "Vcmax", "umol m-2 s-1", {}, {}, "only a lower bound, above 60"};
  input.pairs[2].curve[1].parameters[0].value = -3;
  input.pairs[3].curve[1].failed = "not fitted: 2 rows";
  input.pairs[4].curve[1].parameters.clear();
  const Comparison c = analyse_agreement(input, rules())->parameters.at(0);
  EXPECT_EQ(c.summary->leaves, 2U);
  ASSERT_TRUE(has_note(c.notes, "leaves-without-a-value"));
  const auto note = std::find_if(c.notes.begin(), c.notes.end(),
                                 [](const Note& n) { return n.about == "leaves-without-a-value"; });
  for (const char* text : {"4 of 6 leaves", "L1 (ramp: only a lower bound, above 60)",
                           "L2 (steady: -3 is not positive", "L3 (steady: not fitted",
                           "L4 (steady: the fit has no such parameter)"}) {
    EXPECT_NE(note->text.find(text), std::string::npos) << text << "\n" << note->text;
  }
}

TEST(Agreement, RdayIsADifferenceAndHasItsOwnMargin) {
  AgreementInput input = leaves(8, 1, 0.02);
  for (LeafPair& pair : input.pairs) {
    pair.curve[0].parameters = {{"Rday", "umol m-2 s-1", -0.1, 0.01, ""}};
    pair.curve[1].parameters = {{"Rday", "umol m-2 s-1", 0.1, 0.01, ""}};
  }
  AgreementRules r = rules();
  Comparison c = analyse_agreement(input, r)->parameters.at(0);
  EXPECT_FALSE(c.on_logs);
  EXPECT_NEAR(c.summary->mean, -0.2, 1e-12);
  EXPECT_FALSE(c.equivalence) << "a per cent margin says nothing of Rday";
  r.margin_rday = 0.5;
  c = analyse_agreement(input, r)->parameters.at(0);
  EXPECT_EQ(c.equivalence->verdict, Verdict::equivalent);
}

TEST(Agreement, FitNoiseIsToldFromDisagreement) {
  const auto noisy = analyse_agreement(leaves(12, 1, 0.02, 5), rules())->parameters.at(0);
  EXPECT_TRUE(has_note(noisy.notes, "fit-noise-explains-all"));
  const auto clear = analyse_agreement(leaves(12, 1, 0.2, 0.01), rules())->parameters.at(0);
  EXPECT_TRUE(has_note(clear.notes, "scatter-beyond-fit-noise"));
}

TEST(Agreement, OrderOfMethods) {
  AgreementInput input = leaves(8, 1, 0.01);
  input.order_known = true;
  for (LeafPair& pair : input.pairs) pair.curve[0].order = 1, pair.curve[1].order = 2;
  auto c = analyse_agreement(input, rules())->parameters.at(0);
  EXPECT_FALSE(c.order->test);
  EXPECT_NE(c.order->text.find("ramp came first on all 8 leaves"), std::string::npos);
  for (std::size_t i = 0; i < 4; ++i) {
    std::swap(input.pairs[i].curve[0].order, input.pairs[i].curve[1].order);
    *input.pairs[i].curve[0].parameters[0].value *= 1.2;  // the second curve comes out higher
  }
  c = analyse_agreement(input, rules())->parameters.at(0);
  ASSERT_TRUE(c.order->test.has_value());
  EXPECT_NEAR(c.order->test->difference, -std::log(1.2), 0.03);
  EXPECT_LT(c.order->test->p, 0.001);
}

TEST(Agreement, HolmRunsInTheDeclaredFamilyOnly) {
  AgreementInput input = leaves(8, 1.05, 0.05);
  for (LeafPair& pair : input.pairs) {
    for (MethodCurve& curve : pair.curve) {
      for (const char* name : {"J", "TPU"}) {
        auto copy = curve.parameters[0];
        copy.symbol = name;
        curve.parameters.push_back(copy);
      }
    }
  }
  const auto result = analyse_agreement(input, rules());
  const auto& p = result->parameters;
  ASSERT_EQ(p.size(), 3U);
  EXPECT_NEAR(*p[0].p_holm, std::min(1.0, 2 * *p[0].summary->p), 1e-12);
  EXPECT_TRUE(p[1].in_family);
  EXPECT_FALSE(p[2].in_family || p[2].p_holm);
}

TEST(Agreement, ExclusionsCanBeIgnored) {
  AgreementInput input = leaves(6, 1, 0.02);
  input.pairs[0].excluded = "a leak";
  AgreementRules r = rules();
  EXPECT_EQ(analyse_agreement(input, r)->parameters.at(0).summary->leaves, 5U);
  r.honour_exclusions = false;
  EXPECT_EQ(analyse_agreement(input, r)->parameters.at(0).summary->leaves, 6U);
  r.honour_exclusions = true;
  for (LeafPair& pair : input.pairs) pair.excluded = "a leak";
  const auto none = analyse_agreement(input, r);
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, ErrorCode::unfit);
}

/// Curves of 12 rows (first) and 200 rows (second), A = Ci/40 + shift of the leaf.
AgreementInput curves(std::size_t n, double shift) {
  AgreementInput input = leaves(n, 1, 0.02);
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = 0; k < 2; ++k) {
      MethodCurve& curve = input.pairs[i].curve[k];
      RandomStream draw(4, input.pairs[i].leaf, k == 0 ? "first" : "second");
      const int rows = k == 0 ? 12 : 200;
      for (int r = 0; r < rows; ++r) {
        const double Ci = 50 + 700.0 * r / (rows - 1);
        curve.points.push_back({Ci, Ci / 40 + (k == 0 ? shift : 0) + 0.1 * draw.normal()});
        curve.rows.push_back(static_cast<std::size_t>(r));
      }
      curve.noise_sd = 0.1;
    }
  }
  return input;
}

TEST(Agreement, CurvesFindAShift) {
  AgreementRules r = rules();
  r.margin_A = 1;
  const CurveLevel level = analyse_agreement(curves(8, 0.4), r)->curves;
  EXPECT_EQ(level.Ci.front(), 50);
  EXPECT_EQ(level.Ci.back(), 750);
  ASSERT_TRUE(level.band.has_value());
  for (const double m : level.mean) EXPECT_NEAR(m, 0.4, 0.15);
  EXPECT_EQ(level.zero_outside.size(), level.Ci.size());
  EXPECT_EQ(level.verdict.rfind("equivalent within the stated margin", 0), 0U) << level.verdict;
  for (const LeafDifference& leaf : level.leaves) {
    ASSERT_EQ(leaf.low.size(), leaf.Ci.size());
    EXPECT_GT(leaf.critical, 1.96);
  }
}

TEST(Agreement, ThreePlantsAreTooFewToResample) {
  AgreementInput input = curves(6, 0);
  input.plants_known = true;
  for (std::size_t i = 0; i < 6; ++i) input.pairs[i].plant = "P" + std::to_string(i / 2);
  const CurveLevel level = analyse_agreement(input, rules())->curves;
  EXPECT_TRUE(has_note(level.notes, "leaves-resampled"));
  EXPECT_EQ(level.units, 6U);
}

TEST(Agreement, CurvesWithoutCommonCiAreNotCompared) {
  AgreementInput input = curves(4, 0);
  for (RowPoint& p : input.pairs[2].curve[1].points) p.Ci += 5000;
  const auto result = analyse_agreement(input, rules());
  EXPECT_FALSE(result->curves.leaves[2].why_not.empty());
  EXPECT_TRUE(result->points->leaves[2].why_not.find("no rows within") != std::string::npos);
}

TEST(Agreement, EveryRowIsPairedOnce) {
  const auto result = analyse_agreement(curves(4, 0.4), rules());
  std::vector<std::pair<std::size_t, std::size_t>> seen;
  for (const PointPair& p : result->point_pairs) {
    EXPECT_LE(std::abs(p.Ci_first - p.Ci_second), 10);
    seen.emplace_back(p.pair, p.row_second);
  }
  std::sort(seen.begin(), seen.end());
  EXPECT_EQ(std::unique(seen.begin(), seen.end()), seen.end());
  EXPECT_EQ(result->point_pairs.size(), 48U);
  EXPECT_NEAR(result->points->summary->mean, 0.4, 0.1);
  EXPECT_TRUE(result->points->summary->clustered) << "rows of a leaf are not independent";
}

TEST(AgreementSettings, MarginNeedsItsPerCentSign) {
  const auto margin = [](const std::string& text) {
    Settings settings(agreement_settings());
    EXPECT_TRUE(settings.set("margin", text, SettingOrigin::option));
    return agreement_rules(settings);
  };
  EXPECT_NEAR(*margin("10%")->margin, 0.1, 1e-15);
  EXPECT_NEAR(*margin("12.5 %")->margin, 0.125, 1e-15);
  for (const char* bad : {"10", "0.1", "%", "ten%", "0%", "-5%", "150%"}) {
    EXPECT_FALSE(margin(bad)) << bad;
  }
  EXPECT_NE(margin("10").error().text().find("no per cent sign"), std::string::npos);
}

}  // namespace
}  // namespace leafwright
