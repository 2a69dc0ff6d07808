// Rows that do not count alike: 1/sd^2 of a column, and Huber's loss.
#include <gtest/gtest.h>

#include <cmath>

#include "fit/fit.hpp"
#include "fit/huber.hpp"
#include "support/coverage.hpp"
#include "support/plain_curve.hpp"

namespace leafwright {
namespace {

using plain::G, plain::Km, plain::infinity, plain::usual_ci;

const C3Leaf truth{60, 100, infinity, 1.2};

Curve made(double noise) {
  return plain::made(truth, noise);
}

C3FitOptions options() {
  return plain::without_tpu();
}

C3FitOptions huber() {
  C3FitOptions o = options();
  o.huber = 1.345;
  return o;
}

CurveFit fitted(const Curve& curve, const C3FitOptions& o) {
  const auto fit = fit_curve(curve, o);
  EXPECT_TRUE(fit) << (fit ? "" : fit.error().text());
  return fit ? *fit : CurveFit{};
}

// --- sd of the rows ------------------------------------------------------------------------------

TEST(Weights, OnlyRatiosOfTheSdMatter) {
  Curve curve = made(0.3);
  C3FitOptions o = options();
  const CurveFit plain = fitted(curve, o);
  o.sd_column = "sd";
  for (CurveRow& row : curve.rows) row.sd = 0.05;
  const CurveFit equal = fitted(curve, o);
  EXPECT_NEAR(*equal.Vcmax.value, *plain.Vcmax.value, 1e-9);
  EXPECT_NEAR(*equal.Vcmax.low, *plain.Vcmax.low, 1e-9);
  EXPECT_NEAR(*equal.J.high, *plain.J.high, 1e-9);
  // The sd given are beside the residuals: rmse over 0.05.
  EXPECT_NEAR(*equal.weighting->residual_to_sd, plain.rmse / 0.05, 1e-9);
  EXPECT_TRUE(equal.certified);
  EXPECT_NE(equal.certificate.find("weights 1/sd^2"), std::string::npos);
  for (std::size_t i = 0; i < curve.rows.size(); ++i) curve.rows[i].sd = i < 6 ? 0.1 : 0.4;
  const CurveFit one = fitted(curve, o);
  for (CurveRow& row : curve.rows) row.sd = 7 * *row.sd;
  const CurveFit seven = fitted(curve, o);
  EXPECT_NEAR(*one.Vcmax.value, *seven.Vcmax.value, 1e-9);
  EXPECT_NEAR(*one.Vcmax.high, *seven.Vcmax.high, 1e-9);
  EXPECT_NEAR(*one.weighting->residual_to_sd, 7 * *seven.weighting->residual_to_sd, 1e-9);
  EXPECT_GT(std::abs(*one.Vcmax.value - *plain.Vcmax.value), 1e-3);
}

TEST(Weights, ARowOfHalfTheVarianceCountsAsTwo) {
  Curve twice = made(0.3);
  twice.rows.push_back(twice.rows[4]);
  twice.rows.back().row = twice.rows.size() - 1;
  const CurveFit doubled = fitted(twice, options());
  Curve weighted = made(0.3);
  for (CurveRow& row : weighted.rows) row.sd = 0.3;
  weighted.rows[4].sd = 0.3 / std::sqrt(2.0);
  C3FitOptions o = options();
  o.sd_column = "sd";
  const CurveFit fit = fitted(weighted, o);
  EXPECT_NEAR(*fit.Vcmax.value, *doubled.Vcmax.value, 1e-8);
  EXPECT_NEAR(*fit.J.value, *doubled.J.value, 1e-8);
  EXPECT_NEAR(*fit.Rday.value, *doubled.Rday.value, 1e-8);
}

TEST(Weights, ARowWithoutSdIsNotGuessed) {
  Curve curve = made(0.3);
  C3FitOptions o = options();
  o.sd_column = "sd";
  for (const std::optional<double>& bad : {std::optional<double>(), std::optional(0.0)}) {
    for (CurveRow& row : curve.rows) row.sd = 0.2;
    curve.rows[3].sd = bad;
    const auto fit = fit_curve(curve, o);
    ASSERT_FALSE(fit);
    EXPECT_EQ(fit.error().code, ErrorCode::unfit);
    EXPECT_EQ(fit.error().place.line, 5U);
  }
}

// --- Huber's loss --------------------------------------------------------------------------------

TEST(Huber, WhatProposalTwoAsksOfResidualsIsTheIntegral) {
  for (const double k : {0.5, 1.345, 2.5}) {
    double sum = 0;
    constexpr double step = 1e-4;
    for (double x = -10; x < 10; x += step) {
      const double psi = std::clamp(x, -k, k);
      sum += psi * psi * std::exp(-x * x / 2) / std::sqrt(2 * M_PI) * step;
    }
    EXPECT_NEAR(huber_expectation(k), sum, 1e-6);
  }
}

TEST(Huber, WithoutOutliersAndALargeKItIsTheSquaredLoss) {
  const Curve curve = made(0.3);
  C3FitOptions o = huber();
  o.huber = 10;
  const CurveFit robust = fitted(curve, o), plain = fitted(curve, options());
  EXPECT_NEAR(*robust.Vcmax.value, *plain.Vcmax.value, 1e-7);
  EXPECT_NEAR(*robust.Vcmax.low, *plain.Vcmax.low, 1e-6);
  EXPECT_NEAR(*robust.Rday.high, *plain.Rday.high, 1e-6);
  EXPECT_EQ(robust.weighting->huber->down, 0U);
  EXPECT_FALSE(robust.certified);
}

TEST(Huber, OneWildRowOnACleanCurveDoesNotMoveIt) {
  // Not the row at the lowest Ci: it has so much leverage that the curve follows it (see below).
  for (std::size_t i = 1; i < usual_ci.size(); ++i) {
    for (const double off : {-5.0, 5.0}) {
      Curve curve = made(0);
      curve.rows[i].A += off;
      const CurveFit fit = fitted(curve, huber());
      EXPECT_NEAR(*fit.Vcmax.value, 60, 1e-3) << i;
      EXPECT_NEAR(*fit.J.value, 100, 1e-3) << i;
      EXPECT_NEAR(*fit.Rday.value, 1.2, 1e-3) << i;
      EXPECT_LT(fit.rows[i].huber, 0.01) << i;
      EXPECT_GT(std::abs(*fitted(curve, options()).Vcmax.value - 60), 0.05) << i;
    }
  }
}

TEST(Huber, DoesNotGuardAgainstARowThatTheCurveFollows) {
  // Huber's loss bounds what a residual does, not what a place at the end of the curve does (Huber
  // 1981, chapter 7): a wild first row bends Vcmax and Rday to itself and keeps its full weight.
  Curve curve = made(0);
  curve.rows[0].A -= 5;
  const CurveFit fit = fitted(curve, huber());
  EXPECT_GT(std::abs(*fit.Vcmax.value - 60), 10);
  EXPECT_GT(fit.rows[0].huber, 0.9);
}

TEST(Huber, NoParametersNearbyHaveALowerLoss) {
  Curve curve = made(0.4);
  curve.rows[2].A -= 3;
  curve.rows[9].A += 4;
  const CurveFit fit = fitted(curve, huber());
  const double s = fit.weighting->huber->scale, k = 1.345;
  const auto loss = [&](const C3Leaf& leaf) {
    double sum = 0;
    for (const CurveRow& row : curve.rows) {
      const double x = std::abs(row.A - stress::net_rate(leaf, row.Ci, G, Km, {}, 0)) / s;
      sum += x <= k ? x * x / 2 : k * x - k * k / 2;
    }
    return sum;
  };
  // Proposal 2: the clipped squares have the size that normal residuals would have.
  double clipped = 0;
  for (const FittedRow& row : fit.rows) {
    clipped += std::pow(std::min(std::abs(row.residual) / s, k), 2);
  }
  EXPECT_NEAR(clipped, static_cast<double>(fit.df) * huber_expectation(k), 1e-5);
  const double best = loss(fit.leaf);
  RandomStream draw(3, "huber", "nearby", 0);
  for (int i = 0; i < 4000; ++i) {
    const double size = std::pow(10.0, draw.uniform(-4, -0.7));
    C3Leaf leaf = fit.leaf;
    leaf.Vcmax *= 1 + size * draw.normal();
    leaf.J *= 1 + size * draw.normal();
    leaf.Rday = std::max(0.0, leaf.Rday + size * draw.normal());
    EXPECT_GE(loss(leaf), best * (1 - 1e-9));
  }
}

TEST(Huber, PrintsWhichRowsCountLess) {
  Curve curve = made(0.3);
  curve.rows[4].A -= 5;
  const CurveFit fit = fitted(curve, huber());
  std::string text;
  for (const Note& note : fit.notes) {
    if (note.about == "rows-weighted-down") text = note.text;
  }
  EXPECT_NE(text.find("Ci 250 (line 6) to 0."), std::string::npos) << text;
  EXPECT_LT(fit.weighting->huber->least, 0.3);
  EXPECT_EQ(fit.weighting->huber->least, fit.rows[4].huber);
  EXPECT_NE(fit.certificate.find("only of the last weighted problem"), std::string::npos);
}

TEST(Huber, FiniteGmAndSmoothMinimaAreRefused) {
  C3FitOptions o = huber();
  o.theta = 0.98;
  const auto fit = fit_curve(made(0.3), o);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().code, ErrorCode::refused);
}

/// Errors of Vcmax and coverage under both losses, one row in ten with ten times the noise.
struct Trial {
  double squares = 0;
  coverage::Count Vcmax, Rday;
};
std::array<Trial, 2> contaminated(double share, std::size_t draws, bool choose) {
  std::array<Trial, 2> out;
  for (std::size_t k = 0; k < draws; ++k) {
    const auto c = stress::plain_curve(29, static_cast<std::uint32_t>(k), {13, 0.3, -1, 0});
    Curve curve = coverage::as_curve(c, std::to_string(k));
    RandomStream draw(31, "contaminated", "weights-test", static_cast<std::uint32_t>(k));
    for (CurveRow& row : curve.rows) {
      if (draw.uniform() < share) row.A += 3 * draw.normal();
    }
    C3FitOptions o = coverage::options_for(c);
    if (!choose) o.limitations = LimitationSet{true, true, false};
    for (std::size_t which = 0; which < 2; ++which) {
      if (which == 1) o.huber = 1.345;
      const CurveFit fit = fitted(curve, o);
      Trial& t = out[which];
      coverage::count(t.Vcmax, fit.Vcmax, c.truth.Vcmax);
      coverage::count(t.Rday, fit.Rday, c.truth.Rday);
      if (fit.Vcmax.value) t.squares += std::pow(*fit.Vcmax.value / c.truth.Vcmax - 1, 2);
    }
  }
  for (Trial& t : out) t.squares = std::sqrt(t.squares / static_cast<double>(draws));
  return out;
}

constexpr std::size_t draws = 400;

TEST(Huber, OutliersHurtVcmaxLessThanUnderSquaredLoss) {
  const auto [squared, robust] = contaminated(0.1, draws, false);
  RecordProperty("squared", std::to_string(squared.squares));
  RecordProperty("huber", std::to_string(robust.squares));
  EXPECT_LT(robust.squares, 0.75 * squared.squares);
  EXPECT_GT(robust.Vcmax.share(robust.Vcmax.covered), 0.90);
  EXPECT_GT(robust.Rday.share(robust.Rday.covered), 0.90);
  EXPECT_LT(coverage::median(robust.Vcmax.widths), coverage::median(squared.Vcmax.widths));
}

TEST(Huber, CostsLittleWithoutOutliersAndCovers) {
  const auto [squared, robust] = contaminated(0, draws, true);
  // 95 % efficiency in variance, for many rows; a row in a state has few neighbours.
  EXPECT_LT(robust.squares, 1.12 * squared.squares);
  const double se = std::sqrt(0.05 * 0.95 / draws);
  for (const coverage::Count* c : {&robust.Vcmax, &robust.Rday}) {
    EXPECT_GT(c->share(c->covered), 0.935 - 3 * se);
    EXPECT_LT(c->share(c->covered), 0.975 + 3 * se);
  }
}

}  // namespace
}  // namespace leafwright
