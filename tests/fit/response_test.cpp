// Fits to temperature, light and stomata: exact recovery without noise, honest bounds, coverage.
#include <gtest/gtest.h>

#include <cmath>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "fit/electron_fit.hpp"
#include "fit/light_fit.hpp"
#include "fit/stomata_fit.hpp"
#include "fit/temperature_fit.hpp"
#include "leaf/c3.hpp"
#include "leaf/light.hpp"
#include "leaf/response.hpp"
#include "leaf/stomata.hpp"

namespace leafwright {
namespace {

const ResponseEstimate& of(const ResponseFit& fit, const std::string& symbol) {
  for (const ResponseEstimate& estimate : fit.estimates) {
    if (estimate.symbol == symbol) return estimate;
  }
  throw std::runtime_error("no " + symbol);
}

std::vector<ResponsePoint> values_at(const std::vector<double>& T, double Ha, double Hd, double dS,
                                     double V25, const std::string& leaf = "") {
  std::vector<ResponsePoint> points;
  for (const double t : T) {
    const double f = Hd > 0 ? peaked(Ha, Hd, dS, t) : arrhenius(Ha, t);
    points.push_back({t, V25 * f, leaf, points.size(), {}});
  }
  return points;
}

// Medlyn et al. 2002 sets are recovered from their own values: tests/published checks the values.
TEST(TemperatureFit, RecoversArrheniusExactly) {
  const auto fit =
      fit_temperature("Vcmax", "umol m-2 s-1", values_at({15, 20, 25, 30}, 65.33, 0, 0, 55), {});
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "Ha").value, 65.33, 1e-6);
  EXPECT_NEAR(*of(*fit, "Vcmax25").value, 55, 1e-6);
}

TEST(TemperatureFit, RecoversPeakAndEntropy) {
  TemperatureOptions options;
  options.form = TemperatureForm::peaked;
  options.at = {25, 45};
  const double dS = 641.0;
  auto points = values_at({12, 18, 24, 30, 36, 41}, 50, 200, dS, 120);
  // Without any noise an interval is a matter of rounding: a millionth of it.
  for (std::size_t i = 0; i < points.size(); ++i) points[i].y *= 1 + (i % 2 == 0 ? 1e-6 : -1e-6);
  const auto fit = fit_temperature("J", "umol m-2 s-1", points, options);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "Ha").value, 50, 1e-2);
  EXPECT_NEAR(*of(*fit, "Topt").value, peaked_optimum(50, 200, dS), 1e-3);
  EXPECT_NEAR(*of(*fit, "dS").value, dS, 1e-2);
  ASSERT_EQ(fit->values.size(), 2U);
  EXPECT_NEAR(fit->values[0].y, 120, 1e-3);
  EXPECT_NEAR(fit->values[1].y, 120 * peaked(50, 200, dS, 45), 1e-2);
}

// Measured below the optimum only, an optimum cannot be told: never a number with a closed
// interval.
TEST(TemperatureFit, DoesNotPrintAnOptimumThatTheDataDoNotEnclose) {
  auto points = values_at({10, 15, 20, 25}, 60, 0, 0, 50);
  const double noise[] = {1.02, 0.985, 1.01, 0.99};
  for (std::size_t i = 0; i < points.size(); ++i) points[i].y *= noise[i];
  points.push_back({28, 50 * arrhenius(60, 28) * 1.015, "", 4, {}});
  TemperatureOptions options;
  options.form = TemperatureForm::peaked;
  const auto fit = fit_temperature("Vcmax", "umol m-2 s-1", points, options);
  ASSERT_TRUE(fit) << fit.error().text();
  const ResponseEstimate& optimum = of(*fit, "Topt");
  EXPECT_FALSE(optimum.high.has_value());
  EXPECT_FALSE(optimum.value.has_value());
  bool said = false;
  for (const Note& note : fit->notes) said = said || note.about == "optimum-beyond-data";
  EXPECT_TRUE(said);
}

TEST(TemperatureFit, LeavesHaveTheirOwnLevels) {
  auto points = values_at({15, 22, 29, 35}, 60, 0, 0, 40, "a");
  for (const ResponsePoint& p : values_at({15, 22, 29, 35}, 60, 0, 0, 90, "b")) points.push_back(p);
  for (std::size_t i = 0; i < points.size(); ++i) points[i].y *= i % 2 == 0 ? 1.01 : 0.99;
  const auto fit = fit_temperature("Vcmax", "umol m-2 s-1", points, {});
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "Ha").value, 60, 1.5);
  EXPECT_NEAR(*of(*fit, "Vcmax25").value, std::sqrt(40.0 * 90), 1);
  EXPECT_EQ(fit->df, 8 - 3);
}

TEST(TemperatureFit, TooFewTemperaturesAreRefused) {
  const auto fit =
      fit_temperature("Vcmax", "umol m-2 s-1", values_at({20, 20.2, 25}, 60, 0, 0, 50), {});
  ASSERT_FALSE(fit);
  EXPECT_NE(fit.error().text().find("2 distinct temperatures"), std::string::npos);
}

// 95 % intervals of Ha cover it in 95 % of draws of independent noise.
TEST(TemperatureFit, IntervalOfHaCovers) {
  int covered = 0;
  constexpr int draws = 200;
  for (std::uint64_t draw = 0; draw < draws; ++draw) {
    RandomStream stream(7, std::to_string(draw), "response");
    auto points = values_at({15, 20, 25, 30, 35}, 65, 0, 0, 50);
    for (ResponsePoint& point : points) point.y *= std::exp(0.05 * stream.normal());
    const auto fit = fit_temperature("Vcmax", "umol m-2 s-1", points, {});
    ASSERT_TRUE(fit);
    const ResponseEstimate& Ha = of(*fit, "Ha");
    if (Ha.low && Ha.high && *Ha.low <= 65 && 65 <= *Ha.high) ++covered;
  }
  // Binomial SD is 1.5 %: three of them either side.
  EXPECT_GT(covered, draws * 0.904);
  EXPECT_LT(covered, draws * 0.996);
}

std::vector<ResponsePoint> light_curve(const LightLeaf& leaf, const std::vector<double>& Q) {
  std::vector<ResponsePoint> points;
  for (const double q : Q)
    points.push_back({q, light_assimilation(q, leaf), "", points.size(), {}});
  return points;
}

TEST(LightFit, RecoversTheHyperbola) {
  const LightLeaf leaf{0.055, 28, 0.75, 1.4};
  auto points = light_curve(leaf, {0, 25, 50, 100, 200, 400, 800, 1400, 2000});
  const auto fit = fit_light(points, {});
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "phi").value, 0.055, 1e-6);
  EXPECT_NEAR(*of(*fit, "Amax_gross").value, 28, 1e-4);
  EXPECT_NEAR(*of(*fit, "theta").value, 0.75, 1e-5);
  EXPECT_NEAR(*of(*fit, "Rday").value, 1.4, 1e-6);
  EXPECT_NEAR(*of(*fit, "LCP").value, *light_compensation_point(leaf), 1e-4);
}

TEST(LightFit, APlateauThatWasNotReachedIsALowerBound) {
  const LightLeaf leaf{0.05, 60, 0.3, 1};
  auto points = light_curve(leaf, {0, 20, 40, 60, 90, 120, 160, 200});
  const double noise[] = {0.1, -0.12, 0.08, -0.1, 0.11, -0.07, 0.12, -0.1};
  for (std::size_t i = 0; i < points.size(); ++i) points[i].y += noise[i];
  const auto fit = fit_light(points, {});
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_FALSE(of(*fit, "Amax_gross").value.has_value());
  EXPECT_FALSE(of(*fit, "Amax_gross").high.has_value());
}

TEST(LightFit, AbsorbedLightScalesTheQuantumYieldOnly) {
  auto points = light_curve({0.05, 25, 0.8, 1.5}, {0, 30, 60, 120, 250, 500, 1000, 1800});
  LightOptions options;
  options.absorptance = 0.85;
  options.absorptance_given = true;
  const auto fit = fit_light(points, options);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "phi").value, 0.05 / 0.85, 1e-6);
  EXPECT_NEAR(*of(*fit, "Amax_gross").value, 25, 1e-4);
  EXPECT_NEAR(*of(*fit, "LCP").value, *light_compensation_point({0.05, 25, 0.8, 1.5}), 1e-4);
}

/// J of a leaf at several lights: Jmax 180, theta 0.8, absorptance 0.84, f 0.15.
std::vector<ResponsePoint> electrons_at(const std::vector<double>& Q, double noise = 0,
                                        std::uint32_t replicate = 0) {
  RandomStream draw(21, "electrons", "noise", replicate);
  std::vector<ResponsePoint> points;
  for (const double q : Q) {
    const double J = electron_transport(0.84 * 0.85 / 2 * q, 180, 0.8);
    points.push_back({q, J + noise * draw.normal(), "", points.size(), {}});
  }
  return points;
}

const ElectronOptions green{.absorptance = 0.84, .spectral_loss = 0.15};

TEST(ElectronFit, RecoversJmaxAndCurvature) {
  // Without any noise an interval is a matter of rounding: some of it.
  auto points = electrons_at({100, 250, 500, 900, 1400, 2000});
  for (std::size_t i = 0; i < points.size(); ++i) points[i].y *= 1 + (i % 2 == 0 ? 1e-6 : -1e-6);
  const auto held = fit_electron_transport("J", points, green);
  ASSERT_TRUE(held) << held.error().text();
  EXPECT_NEAR(*of(*held, "Jmax").value, 180, 1e-2);
  EXPECT_NEAR(*of(*held, "theta").value, 0.8, 1e-3);
  EXPECT_EQ(of(*held, "slope").status, "fixed");
  ElectronOptions free = green;
  free.slope_free = true;
  const auto fitted = fit_electron_transport("J", points, free);
  ASSERT_TRUE(fitted) << fitted.error().text();
  EXPECT_NEAR(*of(*fitted, "slope").value, 0.84 * 0.85 / 2, 1e-3);
  EXPECT_NEAR(*of(*fitted, "Jmax").value, 180, 1e-1);
}

TEST(ElectronFit, WithoutSaturatingLightJmaxIsNoNumber) {
  const auto fit = fit_electron_transport("J", electrons_at({20, 40, 60, 80, 100}, 1.5), green);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_FALSE(of(*fit, "Jmax").value);
  EXPECT_FALSE(of(*fit, "Jmax").high);
  const std::string& status = of(*fit, "Jmax").status;
  EXPECT_TRUE(status == "lower bound" || status == "not identified") << status;
}

TEST(ElectronFit, TheIntervalOfJmaxHolds) {
  int held = 0, closed = 0;
  constexpr int draws = 400;
  for (std::uint32_t k = 0; k < draws; ++k) {
    const auto fit =
        fit_electron_transport("J", electrons_at({100, 300, 600, 1000, 1500, 2000}, 3, k), green);
    ASSERT_TRUE(fit) << fit.error().text();
    const ResponseEstimate& Jmax = of(*fit, "Jmax");
    held += (!Jmax.low || *Jmax.low <= 180) && (!Jmax.high || 180 <= *Jmax.high) ? 1 : 0;
    closed += Jmax.low && Jmax.high ? 1 : 0;
  }
  std::printf("Jmax: the interval held %.1f %%, closed %.1f %%\n", 100.0 * held / draws,
              100.0 * closed / draws);
  EXPECT_NEAR(1.0 * held / draws, 0.95, 0.045);  // four standard errors
  EXPECT_GT(1.0 * closed / draws, 0.9);
}

TEST(ElectronFit, AWrongAbsorptanceIsCarriedByTheCurvature) {
  ElectronOptions wrong = green;
  wrong.absorptance = 0.95;
  const auto fit =
      fit_electron_transport("J", electrons_at({100, 250, 500, 900, 1400, 2000}), wrong);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_LT(*of(*fit, "theta").value, 0.75);
  EXPECT_NEAR(*of(*fit, "Jmax").value, 180, 12);
}

TEST(ElectronFit, TooFewLightsAreRefused) {
  EXPECT_FALSE(fit_electron_transport("J", electrons_at({500, 1500}), green));
  ElectronOptions free = green;
  free.slope_free = true;
  EXPECT_FALSE(fit_electron_transport("J", electrons_at({200, 500, 1500}), free));
}

TEST(StomataFit, RecoversEachModel) {
  std::vector<StomataRow> rows;
  for (int i = 0; i < 8; ++i) {
    StomataRow row;
    row.A = 4 + 2.5 * i;
    row.CO2s = 390 + 3 * i;
    row.VPDleaf = 0.8 + 0.2 * (i % 4);
    row.RHs = 75.0 - 4 * (i % 5);
    rows.push_back(row);
  }
  StomataOptions options;
  for (StomataRow& r : rows) r.gsw = 1e3 * medlyn(0.02, 4.2, r.A, *r.VPDleaf, r.CO2s);
  auto fit = fit_stomata(rows, options);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "g1").value, 4.2, 1e-6);
  EXPECT_NEAR(*of(*fit, "g0").value, 20, 1e-5);

  options.model = StomataModel::ball_berry;
  for (StomataRow& r : rows) r.gsw = 1e3 * ball_berry(0.01, 9, r.A, *r.RHs / 100, r.CO2s);
  fit = fit_stomata(rows, options);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "m").value, 9, 1e-6);

  options.model = StomataModel::leuning;
  EXPECT_FALSE(fit_stomata(rows, options));
  options.Gamma = 45;
  for (StomataRow& r : rows) r.gsw = 1e3 * leuning(0.01, 8, r.A, r.CO2s, 45, *r.VPDleaf, 1.5);
  fit = fit_stomata(rows, options);
  ASSERT_TRUE(fit) << fit.error().text();
  EXPECT_NEAR(*of(*fit, "a1").value, 8, 1e-6);
}

TEST(StomataFit, RowsWithoutAssimilationAreNamedNotUsed) {
  std::vector<StomataRow> rows(5);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    rows[i].A = 5.0 + static_cast<double>(i);
    rows[i].CO2s = 400;
    rows[i].VPDleaf = 1 + 0.1 * static_cast<double>(i);
    rows[i].gsw = 1e3 * medlyn(0.01, 3, rows[i].A, *rows[i].VPDleaf, 400);
  }
  rows[2].A = -1;
  const auto fit = fit_stomata(rows, {});
  ASSERT_TRUE(fit) << fit.error().text();
  ASSERT_EQ(fit->excluded.size(), 1U);
  EXPECT_NE(fit->excluded[0].why.find("A is not positive"), std::string::npos);
  EXPECT_NEAR(*of(*fit, "g1").value, 3, 1e-6);
}

}  // namespace
}  // namespace leafwright
