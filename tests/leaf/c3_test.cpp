#include "leaf/c3.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include "leaf/response.hpp"

namespace leafwright {
namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

const Kinetics k25{404.9, 278.4, 210, 42.75, 404.9 * (1 + 210 / 278.4)};
const C3Leaf leaf{80, 150, 10, 1.2};

// The header's equations as they stand, in carboxylation rates.
double by_carboxylation(double C, const C3Leaf& l, const Kinetics& k, const Electrons& e,
                        double alpha) {
  const double wc = l.Vcmax * C / (C + k.Km);
  const double wj = l.J * C / (e.carboxylation * C + e.oxygenation * k.gamma_star);
  double w = std::min(wc, wj);
  if (C > (1 + 3 * alpha) * k.gamma_star)
    w = std::min(w, 3 * l.TPU * C / (C - (1 + 3 * alpha) * k.gamma_star));
  return (1 - k.gamma_star / C) * w - l.Rday;
}

TEST(C3, AgreesWithTheMinimumOfCarboxylationRates) {
  for (const Electrons& e : {Electrons{4, 8}, Electrons{4.5, 10.5}})
    for (const double alpha : {0.0, 0.1, 0.5, 1.0})
      for (double C = 1; C < 2500; C *= 1.13) {
        const double expected = by_carboxylation(C, leaf, k25, e, alpha);
        EXPECT_NEAR(c3_assimilation(C, leaf, k25, e, alpha).A, expected, 1e-11)
            << C << " " << alpha;
      }
}

TEST(C3, NamesTheLimitationsInOrderOfCO2) {
  EXPECT_EQ(c3_assimilation(100, leaf, k25).limited_by, Limitation::rubisco);
  C3Leaf plenty = leaf;
  plenty.TPU = 12;
  EXPECT_EQ(c3_assimilation(700, plenty, k25).limited_by, Limitation::rubp);
  EXPECT_EQ(c3_assimilation(1500, leaf, k25).limited_by, Limitation::tpu);
  EXPECT_STREQ(limitation_name(Limitation::rubisco), "rubisco");
  EXPECT_STREQ(limitation_name(Limitation::rubp), "rubp");
  EXPECT_STREQ(limitation_name(Limitation::tpu), "tpu");
}

TEST(C3, BelowGammaStarTheSlowerCarboxylationGivesTheHigherRate) {
  const C3Rate rate = c3_assimilation(20, leaf, k25);
  EXPECT_EQ(rate.limited_by, Limitation::rubisco);
  EXPECT_GT(rate.A, c3_limited_rate(Limitation::rubp, 20, leaf, k25));
  EXPECT_EQ(rate.A, c3_limited_rate(Limitation::rubisco, 20, leaf, k25));
}

TEST(C3, AtGammaStarOnlyRespirationIsLeft) {
  EXPECT_DOUBLE_EQ(c3_assimilation(42.75, leaf, k25).A, -1.2);
}

TEST(C3, TiesGoToTheFirst) {
  // With x = y both hyperbolas coincide when V = J/4 and Km = 2 G*.
  Kinetics k = k25;
  k.Km = 2 * k.gamma_star;
  EXPECT_EQ(c3_assimilation(300, {30, 120, infinite, 1}, k).limited_by, Limitation::rubisco);
}

TEST(C3, InfiniteCapacitiesDoNotLimit) {
  const C3Rate rate = c3_assimilation(1500, {80, infinite, infinite, 1.2}, k25);
  EXPECT_EQ(rate.limited_by, Limitation::rubisco);
  EXPECT_NEAR(rate.A, 80 * (1500 - 42.75) / (1500 + k25.Km) - 1.2, 1e-12);
  EXPECT_THROW(c3_assimilation(1500, {infinite, infinite, infinite, 1}, k25), std::logic_error);
  // TPU alone cannot limit below its threshold, so nothing does.
  EXPECT_THROW(c3_assimilation(30, {infinite, infinite, 10, 1}, k25), std::logic_error);
}

TEST(C3LimitedRate, TpuCannotLimitAtOrBelowItsThreshold) {
  EXPECT_EQ(c3_limited_rate(Limitation::tpu, 42.75, leaf, k25), infinite);
  EXPECT_EQ(c3_limited_rate(Limitation::tpu, 50, leaf, k25, {}, 0.1), infinite);
  EXPECT_NEAR(c3_limited_rate(Limitation::tpu, 50, leaf, k25), 28.8, 1e-12);
  // With glycolate lost, A falls with rising CO2.
  EXPECT_GT(c3_limited_rate(Limitation::tpu, 200, leaf, k25, {}, 0.3),
            c3_limited_rate(Limitation::tpu, 400, leaf, k25, {}, 0.3));
}

TEST(C3Gm, SolvesTheModelAtCc) {
  for (const Limitation limitation : {Limitation::rubisco, Limitation::rubp, Limitation::tpu})
    for (const double alpha : {0.0, 0.2})
      for (const double gm : {0.05, 0.2, 3.0})
        for (const double Ci : {20.0, 60.0, 150.0, 400.0, 900.0, 1500.0}) {
          const double A = c3_limited_rate_gm(limitation, Ci, gm, leaf, k25, {}, alpha);
          if (!std::isfinite(A)) continue;
          const double Cc = Ci - A / gm;
          EXPECT_NEAR(A, c3_limited_rate(limitation, Cc, leaf, k25, {}, alpha), 1e-8)
              << limitation_name(limitation) << " " << gm << " " << Ci;
        }
}

TEST(C3Gm, BecomesTheModelAtCiForLargeGm) {
  for (const Limitation limitation : {Limitation::rubisco, Limitation::rubp, Limitation::tpu})
    for (const double Ci : {100.0, 400.0, 1500.0})
      EXPECT_NEAR(c3_limited_rate_gm(limitation, Ci, 1e7, leaf, k25, {}, 0.1),
                  c3_limited_rate(limitation, Ci, leaf, k25, {}, 0.1), 1e-5);
}

TEST(C3Gm, TpuThatNoCcAllowsDoesNotLimit) {
  EXPECT_EQ(c3_limited_rate_gm(Limitation::tpu, 100, 0.2, leaf, k25), infinite);
  EXPECT_EQ(c3_limited_rate_gm(Limitation::tpu, 100, 0.2, leaf, k25, {}, 0.3), infinite);
}

// Bisection on A for the whole model at Cc, without the quadratic.
double by_bisection(double Ci, double gm, double alpha) {
  double low = -50, high = gm * Ci * (1 - 1e-12);
  for (int i = 0; i < 200; ++i) {
    const double A = (low + high) / 2;
    (by_carboxylation(Ci - A / gm, leaf, k25, {}, alpha) > A ? low : high) = A;
  }
  return (low + high) / 2;
}

TEST(C3Gm, WholeModelAgreesWithBisection) {
  for (const double gm : {0.1, 0.3, 1.0})
    for (double Ci = 15; Ci < 2000; Ci *= 1.21)
      EXPECT_NEAR(c3_assimilation_gm(Ci, gm, leaf, k25).A, by_bisection(Ci, gm, 0), 1e-8)
          << gm << " " << Ci;
}

TEST(C3Gm, RefusesCallsWithoutMeaning) {
  EXPECT_THROW(c3_limited_rate_gm(Limitation::rubisco, 300, 0, leaf, k25), std::logic_error);
  EXPECT_THROW(c3_limited_rate_gm(Limitation::rubisco, 300, infinite, leaf, k25), std::logic_error);
  EXPECT_THROW(c3_limited_rate_gm(Limitation::tpu, 300, 0.2, {80, 150, infinite, 1}, k25),
               std::logic_error);
  EXPECT_THROW(c3_assimilation_gm(300, 0.2, {infinite, infinite, infinite, 1}, k25),
               std::logic_error);
}

TEST(SmoothMinimum, SolvesItsQuadraticAndLiesBelow) {
  for (const double theta : {0.0, 0.5, 0.7, 0.95, 0.98, 0.999})
    for (const double a : {0.0, 0.3, 20.0, 150.0})
      for (const double b : {0.2, 20.0, 21.0, 900.0}) {
        const double x = smooth_minimum(a, b, theta);
        EXPECT_NEAR(theta * x * x - (a + b) * x + a * b, 0, 1e-9 * (a + b) * (a + b));
        EXPECT_LE(x, std::min(a, b));
      }
}

TEST(SmoothMinimum, HasTheTwoKnownEnds) {
  EXPECT_DOUBLE_EQ(smooth_minimum(20, 30, 1), 20);
  EXPECT_DOUBLE_EQ(smooth_minimum(30, 20, 1), 20);
  EXPECT_DOUBLE_EQ(smooth_minimum(20, 30, 0), 12);
  EXPECT_EQ(smooth_minimum(0, 0, 0.7), 0);
}

TEST(ElectronTransport, RisesFromItsYieldToJmax) {
  EXPECT_NEAR(electron_transport(1, 200, 0.7), 1, 0.01);
  EXPECT_NEAR(electron_transport(1e6, 200, 0.7), 200, 0.05);
  // By the quadratic formula.
  const double s = 361.25 + 200;
  EXPECT_NEAR(electron_transport(361.25, 200, 0.7),
              (s - std::sqrt(s * s - 4 * 0.7 * 361.25 * 200)) / 1.4, 1e-10);
}

TEST(CompensationPoint, IsWhereTheRateIsZero) {
  const double C = compensation_point_rubisco(leaf, k25);
  EXPECT_NEAR(c3_limited_rate(Limitation::rubisco, C, leaf, k25), 0, 1e-12);
  EXPECT_EQ(compensation_point_rubisco({1, 2, 3, 1}, k25), infinite);
}

TEST(OnePointVcmax, ReturnsTheVcmaxThatMadeThePoint) {
  const C3Leaf made{63, infinite, infinite, 1.1};
  const double A = c3_assimilation(280, made, k25).A;
  EXPECT_NEAR(one_point_vcmax(A, 280, 1.1, k25), 63, 1e-11);
  const C3Leaf fraction{63, infinite, infinite, 0.015 * 63};
  EXPECT_NEAR(one_point_vcmax_fraction(c3_assimilation(280, fraction, k25).A, 280, 0.015, k25), 63,
              1e-11);
}

}  // namespace
}  // namespace leafwright
