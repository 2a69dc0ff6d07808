// Which curves are pairs of a comparison, and what of a parameter takes part.
#include <gtest/gtest.h>

#include "stats/agreement_settings.hpp"
#include "study/agree_pairs.hpp"

namespace leafwright {
namespace {

ComparedCurve curve(const std::string& id, const std::string& leaf, const std::string& plant,
                    const std::string& method) {
  ComparedCurve out;
  out.labels = {leaf, plant, method, {}};
  out.curve.curve_id = id;
  return out;
}

AgreementInput ramp_and_steps() {
  AgreementInput input;
  input.methods = {"ramp", "steps"};
  return input;
}

TEST(AgreePairs, ALeafWithOneCurveByEitherMethodIsAPair) {
  AgreementInput input = ramp_and_steps();
  const std::vector<ComparedCurve> curves = {curve("a2", "a", "p", "steps"),
                                             curve("a3", "a", "p", "ramp down"),
                                             curve("a1", "a", "p", "ramp")};
  EXPECT_TRUE(add_pairs(curves, input).empty());
  ASSERT_EQ(input.pairs.size(), 1U);
  EXPECT_EQ(input.pairs[0].curve[0].curve_id, "a1");
  EXPECT_EQ(input.pairs[0].curve[1].curve_id, "a2");
  EXPECT_EQ(input.pairs[0].plant, "p");
}

TEST(AgreePairs, WhatIsNoPairIsNamedWithTheReason) {
  AgreementInput input = ramp_and_steps();
  const std::vector<ComparedCurve> curves = {
      curve("a1", "a", "p", "ramp"),  curve("b1", "b", "p", "ramp"), curve("b2", "b", "p", "steps"),
      curve("b3", "b", "p", "steps"), curve("c1", "c", "p", "ramp"), curve("c2", "c", "q", "steps"),
      curve("d2", "d", "p", "steps")};
  const std::vector<NoPair> none = add_pairs(curves, input);
  EXPECT_TRUE(input.pairs.empty());
  ASSERT_EQ(none.size(), 4U);
  EXPECT_EQ(none[0].lacks, std::optional<std::size_t>(1));
  EXPECT_FALSE(none[1].lacks);
  EXPECT_NE(none[1].why.find("2 curves by steps (b2, b3)"), std::string::npos) << none[1].why;
  EXPECT_FALSE(none[2].lacks);
  EXPECT_NE(none[2].why.find("of plant 'p' and of plant 'q'"), std::string::npos);
  EXPECT_EQ(none[3].lacks, std::optional<std::size_t>(0));
}

TEST(AgreePairs, TwoMethodsAreChosenOrAskedFor) {
  const std::vector<ComparedCurve> two = {curve("a", "a", "", "steps"),
                                          curve("b", "a", "", "ramp")};
  Settings settings(agreement_settings());
  auto methods = choose_methods(settings, "programme", two);
  ASSERT_TRUE(methods);
  EXPECT_EQ((*methods)[0], "steps");  // in order of appearance
  ASSERT_TRUE(settings.set("methods", "ramp,steps", SettingOrigin::study));
  methods = choose_methods(settings, "programme", two);
  ASSERT_TRUE(methods);
  EXPECT_EQ((*methods)[0], "ramp");
  const std::vector<ComparedCurve> one = {curve("a", "a", "", "steps")};
  const auto missing = choose_methods(settings, "programme", one);
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().code, ErrorCode::usage);
  EXPECT_NE(missing.error().text().find("no curve has 'ramp' in column 'programme'"),
            std::string::npos)
      << missing.error().text();
  EXPECT_FALSE(choose_methods(Settings(agreement_settings()), "programme", one));
  EXPECT_FALSE(choose_methods(Settings(agreement_settings()), "programme", {}));
}

TEST(AgreePairs, OnlyWhatTheDataIdentifyHasAValue) {
  const auto of = [](const std::string& status) {
    return compared_parameter("TPU", "umol m-2 s-1", status, 9.0, 0.2, 7.9, 12.0);
  };
  EXPECT_EQ(of("estimated").value, std::optional(9.0));
  for (const char* status : {"fixed", "lower bound", "upper bound", "not identified", ""}) {
    EXPECT_FALSE(of(status).value) << status;
    EXPECT_FALSE(of(status).why_not.empty()) << status;
  }
  EXPECT_EQ(of("lower bound").why_not, "only a lower bound, above 7.9");
  // A parameter without a temperature response has no value at 25 degC.
  const auto moved = compared_parameter("TPU25", "", "estimated", {}, {}, {}, {});
  EXPECT_EQ(moved.why_not, "no value at 25 degC");
}

TEST(AgreePairs, AnErrorMovesWithItsValue) {
  EXPECT_EQ(moved_se(2.0, 100.0, 80.0), std::optional(1.6));
  EXPECT_EQ(moved_se({}, 100.0, 80.0), std::optional<double>());
}

TEST(AgreePairs, ALeafThatIsNotComparedCannotBeLeftOut) {
  AgreementInput input = ramp_and_steps();
  add_pairs(std::vector<ComparedCurve>{curve("a1", "leaf-1", "", "ramp"),
                                       curve("a2", "leaf-1", "", "steps")},
            input);
  Settings settings(agreement_settings());
  ASSERT_TRUE(settings.set("exclude", "leaf-2=torn", SettingOrigin::study));
  const auto wrong = exclude_pairs(settings, input);
  ASSERT_FALSE(wrong);
  EXPECT_NE(wrong.error().text().find("leaf-1"), std::string::npos) << wrong.error().text();
}

}  // namespace
}  // namespace leafwright
