// Correlations of estimates against those of many fits to fresh noise.
#include "fit/estimate_correlation.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "base/random.hpp"
#include "fit/fit.hpp"

namespace leafwright {
namespace {

Result<CurveFit> fitted(std::uint32_t replicate, const std::string& rday) {
  Settings settings(fit_settings());
  EXPECT_TRUE(settings.set("rday", rday, SettingOrigin::option));
  auto options = fit_options(settings);
  options->limitations = LimitationSet{true, true, false};
  options->budget = false;
  options->intervals = IntervalMethod::none;
  const auto k = kinetics_at(*options->kinetics, 25, 100, options->basis, {});
  const C3Leaf leaf{
      .Vcmax = 60, .J = 110, .TPU = std::numeric_limits<double>::infinity(), .Rday = 1};
  RandomStream draw(8, "correlation", "noise", replicate);
  Curve curve;
  curve.curve_id = "x";
  for (const double Ci : {50.0, 80.0, 120.0, 170.0, 220.0, 500.0, 700.0, 900.0, 1200.0}) {
    CurveRow row;
    row.row = curve.rows.size();
    row.Ci = Ci;
    row.A = c3_assimilation(Ci, leaf, *k).A + 0.1 * draw.normal();
    row.Tleaf = 25;
    row.Patm = 100;
    curve.rows.push_back(row);
  }
  return fit_curve(curve, *options);
}

TEST(EstimateCorrelations, AreThoseOfManyFits) {
  constexpr int draws = 2000;
  std::array<double, 3> sum{};
  std::array<std::array<double, 3>, 3> product{};
  for (std::uint32_t k = 0; k < draws; ++k) {
    const auto fit = fitted(k, "free");
    ASSERT_TRUE(fit);
    const std::array<double, 3> value = {*fit->Vcmax.value, *fit->J.value, *fit->Rday.value};
    for (std::size_t a = 0; a < 3; ++a) {
      sum[a] += value[a] / draws;
      for (std::size_t b = 0; b < 3; ++b) product[a][b] += value[a] * value[b] / draws;
    }
  }
  const auto seen = [&](std::size_t a, std::size_t b) {
    const auto cov = [&](std::size_t i, std::size_t j) { return product[i][j] - sum[i] * sum[j]; };
    return cov(a, b) / std::sqrt(cov(a, a) * cov(b, b));
  };
  const auto one = fitted(0, "free");
  const EstimateCorrelations found = estimate_correlations(*one);
  ASSERT_TRUE(found.Vcmax_J && found.Vcmax_Rday && found.J_Rday);
  // The standard error of a correlation of 2,000 draws is at most 0.022.
  EXPECT_NEAR(*found.Vcmax_J, seen(0, 1), 0.08);
  EXPECT_NEAR(*found.Vcmax_Rday, seen(0, 2), 0.08);
  EXPECT_NEAR(*found.J_Rday, seen(1, 2), 0.08);
  EXPECT_GT(*found.Vcmax_Rday, 0.5);
}

TEST(EstimateCorrelations, AHeldParameterHasNone) {
  const auto fit = fitted(0, "1");
  ASSERT_TRUE(fit);
  const EstimateCorrelations found = estimate_correlations(*fit);
  EXPECT_FALSE(found.Vcmax_Rday || found.J_Rday);
  ASSERT_TRUE(found.Vcmax_J);
  EXPECT_NEAR(*found.Vcmax_J, 0, 1e-12);  // no row depends on both
}

}  // namespace
}  // namespace leafwright
