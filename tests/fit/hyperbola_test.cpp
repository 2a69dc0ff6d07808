#include "fit/hyperbola.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "leaf/light.hpp"

namespace leafwright {
namespace {

struct Points {
  std::vector<double> C, A;
};

Points points(double highest, double noise) {
  Points out;
  for (int i = 0; i < 14; ++i) {
    const double C = 20 + (highest - 20) * i / 13.0;
    out.C.push_back(C);
    out.A.push_back(light_assimilation(C, {0.09, 35, 0.8, 1.5}) +
                    noise * std::sin(2.3 * i));  // a fixed pattern, so that s > 0
  }
  return out;
}

const ResponseEstimate& estimate(const EmpiricalFit& fit, const std::string& symbol) {
  for (const ResponseEstimate& e : fit.estimates) {
    if (e.symbol == symbol) return e;
  }
  throw std::runtime_error("no " + symbol);
}

TEST(Hyperbola, ANoiseFreeCurveGivesItsTruth) {
  const Points p = points(1200, 0);
  const auto fit = fit_empirical(p.C, p.A, EmpiricalForm::hyperbola);
  ASSERT_TRUE(fit.has_value()) << fit.error().text();
  const double truth[] = {0.09, 35, 0.8, 1.5};
  for (std::size_t k = 0; k < 4; ++k) EXPECT_NEAR(fit->parameters[k], truth[k], 1e-5 * truth[k]);
  EXPECT_NEAR(empirical_rate(*fit, 300), light_assimilation(300, {0.09, 35, 0.8, 1.5}), 1e-6);
}

TEST(Hyperbola, WhatItTellsLiesOnTheCurve) {
  const Points p = points(1200, 0.1);
  for (const EmpiricalForm form : {EmpiricalForm::hyperbola, EmpiricalForm::exponential}) {
    const auto fit = fit_empirical(p.C, p.A, form);
    ASSERT_TRUE(fit.has_value()) << fit.error().text();
    const double top = *estimate(*fit, "Asat").value;
    EXPECT_NEAR(empirical_rate(*fit, *estimate(*fit, "CO2comp").value), 0, 1e-8);
    EXPECT_NEAR(empirical_rate(*fit, *estimate(*fit, "Ci90").value), 0.90 * top, 1e-8 * top);
    EXPECT_NEAR(empirical_rate(*fit, *estimate(*fit, "Ci95").value), 0.95 * top, 1e-8 * top);
    EXPECT_NEAR(empirical_rate(*fit, 1e7), top, 1e-3 * top);
    const double slope = *estimate(*fit, "initial_slope").value;
    const double at = form == EmpiricalForm::hyperbola ? 0 : *estimate(*fit, "CO2comp").value;
    const double h = 1e-4;
    EXPECT_NEAR((empirical_rate(*fit, at + h) - empirical_rate(*fit, at)) / h, slope,
                1e-5 + 1e-4 * slope);
  }
}

TEST(Hyperbola, WithoutAPlateauTheSaturatedRateIsNoNumber) {
  const Points p = points(90, 0.1);
  const auto fit = fit_empirical(p.C, p.A, EmpiricalForm::hyperbola);
  ASSERT_TRUE(fit.has_value()) << fit.error().text();
  EXPECT_NE(estimate(*fit, "Amax").status, "estimated");
}

TEST(Hyperbola, BrokenInput) {
  const std::vector<double> C{10, 20, 20, 10, 30}, A{1, 2, 2, 1, 3};
  EXPECT_EQ(fit_empirical(C, A, EmpiricalForm::hyperbola).error().code, ErrorCode::unfit);
  const std::vector<double> D{10, 20, 30, 40, std::nan("")}, B{1, 2, 3, 4, 5};
  EXPECT_EQ(fit_empirical(D, B, EmpiricalForm::hyperbola).error().code, ErrorCode::unfit);
}

}  // namespace
}  // namespace leafwright
