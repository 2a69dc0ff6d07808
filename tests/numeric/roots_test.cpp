#include "numeric/roots.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

TEST(FindRoot, MeetsClosedForms) {
  const auto root = find_root([](double x) { return x * x - 2; }, 0, 2);
  ASSERT_TRUE(root);
  EXPECT_NEAR(root->x, std::numbers::sqrt2, 2e-12);
  EXPECT_LE(root->low, std::numbers::sqrt2);
  EXPECT_GE(root->high, std::numbers::sqrt2);
  EXPECT_LE(root->evaluations, 15);
  // Kepler's equation at e = 0.5, M = 1: E - e sin E = M, checked by putting the root back.
  const auto kepler = find_root([](double E) { return E - 0.5 * std::sin(E) - 1; }, 0, 3);
  ASSERT_TRUE(kepler);
  EXPECT_NEAR(kepler->x - 0.5 * std::sin(kepler->x), 1, 1e-11);
}

TEST(FindRoot, TakesTheEndsInAnyOrder) {
  const auto root = find_root([](double x) { return std::exp(x) - 3; }, 5, -5);
  ASSERT_TRUE(root);
  EXPECT_NEAR(root->x, std::log(3.0), 1e-11);
}

TEST(FindRoot, AnEndThatIsARootIsTheAnswer) {
  const auto f = [](double x) { return x - 1; };
  EXPECT_EQ(find_root(f, 1, 4)->x, 1);
  EXPECT_EQ(find_root(f, -4, 1)->x, 1);
  EXPECT_EQ(find_root(f, 1, 4)->evaluations, 2);
}

TEST(FindRoot, ARootAtZeroIsReachedAlthoughARelativeWidthIsNot) {
  const auto root = find_root([](double x) { return x * x * x; }, -1, 2, {1e-12, 1e-9, 200});
  ASSERT_TRUE(root);
  EXPECT_NEAR(root->x, 0, 1e-9);
}

TEST(FindRoot, WideBracketsAndFlatFunctions) {
  const auto wide = find_root([](double x) { return std::atan(x - 3); }, -1e9, 1e9);
  ASSERT_TRUE(wide) << wide.error().text();
  EXPECT_NEAR(wide->x, 3, 1e-11);
  const auto flat = find_root([](double x) { return std::pow(x - 1, 9); }, 0, 3);
  ASSERT_TRUE(flat) << flat.error().text();
  EXPECT_NEAR(flat->x, 1, 1e-11);
}

TEST(FindRoot, AJumpIsFoundAndItsValueTellsIt) {
  const auto root = find_root([](double x) { return x < 0.3 ? -1.0 : 1.0; }, 0, 1);
  ASSERT_TRUE(root);
  EXPECT_NEAR(root->x, 0.3, 1e-12);
  EXPECT_EQ(std::abs(root->value), 1);
}

TEST(FindRoot, RefusesWhatItCannotDoAndSaysWhy) {
  const auto same = find_root([](double x) { return x * x + 1; }, -1, 1);
  ASSERT_FALSE(same);
  EXPECT_EQ(same.error().code, ErrorCode::unfit);
  EXPECT_NE(same.error().text().find("same sign"), std::string::npos) << same.error().text();

  const auto bad = find_root([](double x) { return x > 0.4 && x < 0.6 ? NAN : x - 0.5; }, 0, 1);
  ASSERT_FALSE(bad);
  EXPECT_NE(bad.error().text().find("not finite at 0.5"), std::string::npos) << bad.error().text();

  const auto end = find_root([](double x) { return 1 / x; }, 0, 1);
  ASSERT_FALSE(end);
  EXPECT_NE(end.error().text().find("not finite at 0"), std::string::npos) << end.error().text();

  const auto few = find_root([](double x) { return std::cos(x) - x; }, 0, 1, {1e-15, 0, 4});
  ASSERT_FALSE(few);
  EXPECT_NE(few.error().text().find("evaluations"), std::string::npos) << few.error().text();

  const auto ends = find_root([](double x) { return x; }, -infinity, 1);
  ASSERT_FALSE(ends);
  EXPECT_EQ(ends.error().code, ErrorCode::usage);
}

TEST(BracketOutward, BracketsOnEitherSide) {
  const auto f = [](double x) { return (x - 2) * (x - 2) - 9; };  // roots -1 and 5
  const auto up = bracket_outward(f, 2, 0.1, infinity);
  ASSERT_TRUE(up);
  EXPECT_FALSE(up->open);
  EXPECT_LE(up->inner, 5);
  EXPECT_GE(up->outer, 5);
  EXPECT_NEAR(find_root(f, up->inner, up->outer)->x, 5, 1e-11);
  const auto down = bracket_outward(f, 2, -0.1, -100);
  ASSERT_TRUE(down);
  EXPECT_NEAR(find_root(f, down->inner, down->outer)->x, -1, 1e-11);
}

TEST(BracketOutward, AnIntervalWithoutAnEndIsOpen) {
  const auto flat = [](double x) { return 1 / (1 + x * x) - 2; };
  const auto walk = bracket_outward(flat, 0, 1, 1000);
  ASSERT_TRUE(walk);
  EXPECT_TRUE(walk->open);
  EXPECT_EQ(walk->inner, 1000);  // the limit itself was asked
}

TEST(BracketOutward, ARootAtTheLimitCounts) {
  const auto walk = bracket_outward([](double x) { return x - 10; }, 0, 3, 10);
  ASSERT_TRUE(walk);
  EXPECT_FALSE(walk->open);
  EXPECT_EQ(walk->outer, 10);
  EXPECT_EQ(walk->f_outer, 0);
}

TEST(BracketOutward, StartingAtARootNeedsNoWalk) {
  const auto walk = bracket_outward([](double x) { return x; }, 0, 1, 10);
  ASSERT_TRUE(walk);
  EXPECT_FALSE(walk->open);
  EXPECT_EQ(walk->evaluations, 1);
}

TEST(BracketOutward, RefusesWhatItCannotDoAndSaysWhy) {
  const auto f = [](double x) { return x + 1; };
  EXPECT_EQ(bracket_outward(f, 0, 0, 10).error().code, ErrorCode::usage);
  EXPECT_EQ(bracket_outward(f, 0, 1, -10).error().code, ErrorCode::usage);
  EXPECT_EQ(bracket_outward(f, 0, 1, 10, {0.5, 10}).error().code, ErrorCode::usage);
  EXPECT_EQ(bracket_outward(f, infinity, 1, 10).error().code, ErrorCode::usage);
  // No limit and no end: nothing was proved, so this is no open interval but a failure.
  const auto endless = bracket_outward(f, 0, 1, infinity, {1, 20});
  ASSERT_FALSE(endless);
  EXPECT_EQ(endless.error().code, ErrorCode::unfit);
  const auto bad = bracket_outward([](double x) { return x > 3 ? NAN : 1.0; }, 0, 1, 10);
  ASSERT_FALSE(bad);
  EXPECT_NE(bad.error().text().find("not finite at 7"), std::string::npos) << bad.error().text();
}

}  // namespace
}  // namespace leafwright
