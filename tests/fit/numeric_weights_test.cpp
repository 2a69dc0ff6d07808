// Rows that count by 1/sd^2 under finite gm and the smooth minimum. A row of weight 2 must do what
// two rows of weight 1 do.
#include <gtest/gtest.h>

#include <cmath>

#include "fit/fit.hpp"
#include "support/plain_curve.hpp"

namespace leafwright {
namespace {

/// Is a row where two limitations meet? Its derivatives are then those of either side.
bool on_a_kink(const CurveFit& fit) {
  for (const Transition& t : fit.transitions) {
    for (const FittedRow& row : fit.rows) {
      if (std::abs(row.Ci - t.Ci) < 1e-4 * t.Ci) return true;
    }
  }
  return false;
}

/// Against the duplicates: the same sum of squares but for the mean weight, the same parameters.
void expect_as_doubled(C3FitOptions o, const std::string& what) {
  o.limitations = LimitationSet{true, true, false};
  for (const double J : {90.0, 110.0, 140.0}) {
    const Curve curve = plain::made({60, J, plain::infinity, 1.2}, 0.3);
    Curve by_sd = curve, twice = curve;
    for (std::size_t i = 0; i < curve.rows.size(); ++i) {
      const bool doubled = i % 3 == 1;
      by_sd.rows[i].sd = doubled ? 0.4 : 0.4 * std::sqrt(2.0);
      if (doubled) twice.rows.push_back(curve.rows[i]);
    }
    C3FitOptions weighted = o;
    weighted.sd_column = "A_sd";
    const auto a = fit_curve(by_sd, weighted), b = fit_curve(twice, o), plain = fit_curve(curve, o);
    ASSERT_TRUE(a && b && plain) << what;
    const double mean =
        static_cast<double>(twice.rows.size()) / static_cast<double>(curve.rows.size());
    EXPECT_NEAR(a->ssr * mean, b->ssr, 1e-6 * b->ssr) << what << " " << J;
    EXPECT_NEAR(a->leaf.Vcmax, b->leaf.Vcmax, 1e-4 * b->leaf.Vcmax) << what << " " << J;
    EXPECT_NEAR(a->leaf.J, b->leaf.J, 1e-4 * b->leaf.J) << what << " " << J;
    EXPECT_GT(std::abs(plain->leaf.Vcmax - b->leaf.Vcmax), 3e-4 * b->leaf.Vcmax) << what;
    if (a->Vcmax.se && b->Vcmax.se && !on_a_kink(*a)) {
      const double df = std::sqrt(static_cast<double>(b->df) / static_cast<double>(a->df));
      EXPECT_NEAR(*a->Vcmax.se, *b->Vcmax.se * df, 0.01 * *a->Vcmax.se) << what << " " << J;
    }
    ASSERT_TRUE(a->weighting) << what;
    EXPECT_EQ(a->weighting->sd_column, "A_sd");
    ASSERT_TRUE(a->weighting->residual_to_sd);
  }
}

C3FitOptions finite_gm() {
  C3FitOptions o = plain::options();
  o.kinetics = *find_kinetics("bernacchi-2002");
  o.overrides = {};
  return o;
}

TEST(NumericWeights, HeldGm) {
  C3FitOptions o = finite_gm();
  o.gm = 0.25;
  expect_as_doubled(o, "held gm");
}

TEST(NumericWeights, FreeGm) {
  C3FitOptions o = finite_gm();
  o.gm_free = true;
  expect_as_doubled(o, "free gm");
}

TEST(NumericWeights, SmoothMinimum) {
  C3FitOptions o = plain::options();
  o.theta = 0.98;
  expect_as_doubled(o, "smooth minimum");
}

}  // namespace
}  // namespace leafwright
