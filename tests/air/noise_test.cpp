#include "air/noise.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "air/balance.hpp"
#include "air/flags.hpp"
#include "air/sample.hpp"
#include "base/random.hpp"

namespace leafwright {
namespace {

using air_test::ordinary_options;
using air_test::ordinary_record;

InputSd usual_sd() {
  InputSd sd;
  sd[NoisyInput::CO2r] = 0.1;
  sd[NoisyInput::CO2s] = 0.15;
  sd[NoisyInput::H2Or] = 0.02;
  sd[NoisyInput::H2Os] = 0.03;
  sd[NoisyInput::flow] = 0.8;
  sd[NoisyInput::area] = 0.05;
  sd[NoisyInput::Tleaf] = 0.1;
  sd[NoisyInput::Patm] = 0.02;
  return sd;
}

/// Draws records with this noise and takes the moments of what comes out.
struct Moments {
  double E = 0, A = 0, gsw = 0, Ci = 0, cov = 0;
};
Moments drawn(const FluxInput& at, const FluxOptions& options, const InputSd& sd, int n) {
  RandomStream draw(7, "record", "noise");
  std::vector<std::array<double, 4>> rows;
  for (int i = 0; i < n; ++i) {
    FluxInput in = at;
    const auto shake = [&](double& x, NoisyInput which) {
      x += sd[which].value_or(0) * draw.normal();
    };
    shake(in.CO2r, NoisyInput::CO2r);
    shake(in.CO2s, NoisyInput::CO2s);
    shake(in.H2Or, NoisyInput::H2Or);
    shake(in.H2Os, NoisyInput::H2Os);
    shake(in.flow, NoisyInput::flow);
    shake(in.area, NoisyInput::area);
    shake(in.Tleaf, NoisyInput::Tleaf);
    shake(in.Patm, NoisyInput::Patm);
    if (in.storage) {
      shake(in.storage->dCO2s_dt, NoisyInput::dCO2s_dt);
      shake(in.storage->dH2Os_dt, NoisyInput::dH2Os_dt);
    }
    const auto r = flux(in, options);
    rows.push_back({r->E, r->A, r->leaf.gsw.value(), r->leaf.Ci.value()});
  }
  std::array<double, 4> mean{};
  for (const auto& row : rows)
    for (std::size_t k = 0; k < 4; ++k) mean[k] += row[k] / n;
  const auto product = [&](std::size_t a, std::size_t b) {
    double sum = 0;
    for (const auto& row : rows) sum += (row[a] - mean[a]) * (row[b] - mean[b]);
    return sum / (n - 1);
  };
  return {std::sqrt(product(0, 0)), std::sqrt(product(1, 1)), std::sqrt(product(2, 2)),
          std::sqrt(product(3, 3)), product(1, 3)};
}

void expect_like_drawn(const FluxInput& in, const InputSd& sd) {
  constexpr int n = 20000;
  const Moments m = drawn(in, ordinary_options(), sd, n);
  const auto noise = flux_noise(in, ordinary_options(), sd);
  ASSERT_TRUE(noise) << noise.error().text();
  // A drawn sd is itself uncertain by 1/sqrt(2n) = 0.5 %; four times that, and 0.5 % for what is
  // not linear.
  const double close = 4 / std::sqrt(2.0 * n) + 0.005;
  EXPECT_NEAR(noise->E / m.E, 1, close);
  EXPECT_NEAR(noise->A / m.A, 1, close);
  EXPECT_NEAR(*noise->gsw / m.gsw, 1, close);
  EXPECT_NEAR(*noise->Ci / m.Ci, 1, close);
  // sd of a drawn covariance: sd_A sd_Ci sqrt((1 + rho^2)/n)
  EXPECT_NEAR(*noise->cov_A_Ci, m.cov, 5 * std::sqrt(2.0 / n) * m.A * m.Ci);
}

TEST(Noise, AgreesWithDrawnRecords) {
  expect_like_drawn(ordinary_record(), usual_sd());
}

TEST(Noise, AgreesWithDrawnRecordsOnARamp) {
  FluxInput in = ordinary_record();
  in.storage = Storage{70, 26, 1.7, 0.01};
  InputSd sd = usual_sd();
  sd[NoisyInput::dCO2s_dt] = 0.05;
  sd[NoisyInput::dH2Os_dt] = 0.002;
  expect_like_drawn(in, sd);
}

TEST(Noise, DerivativesAreThoseByHand) {
  // E = 10 F (Ws - Wr)/[S (1000 - Ws)] and A, differentiated on paper.
  const FluxInput in = ordinary_record();
  InputSd one;
  for (std::size_t k = 0; k < 9; ++k) one.sd[k] = 1;
  const auto noise = flux_noise(in, ordinary_options(), one);
  ASSERT_TRUE(noise) << noise.error().text();
  const auto moved = [&](NoisyInput k, FluxOutput i) {
    return noise->moved[static_cast<std::size_t>(k)][static_cast<std::size_t>(i)];
  };
  const double F = in.flow, S = in.area, Wr = in.H2Or, Ws = in.H2Os, C = in.CO2s;
  const auto expect = [](double value, double by_hand) {
    EXPECT_NEAR(value, by_hand, 1e-8 * std::abs(by_hand));
  };
  expect(moved(NoisyInput::H2Or, FluxOutput::E), -10 * F / (S * (1000 - Ws)));
  expect(moved(NoisyInput::H2Os, FluxOutput::E),
         10 * F * (1000 - Wr) / (S * (1000 - Ws) * (1000 - Ws)));
  expect(moved(NoisyInput::CO2r, FluxOutput::A), F / (100 * S));
  expect(moved(NoisyInput::CO2s, FluxOutput::A), -F * (1000 - Wr) / (1000 - Ws) / (100 * S));
  expect(moved(NoisyInput::H2Or, FluxOutput::A), F * C / (1000 - Ws) / (100 * S));
  expect(moved(NoisyInput::flow, FluxOutput::A), steady_A(F, S, in.CO2r, C, Wr, Ws) / F);
  expect(moved(NoisyInput::area, FluxOutput::A), -steady_A(F, S, in.CO2r, C, Wr, Ws) / S);
  EXPECT_EQ(moved(NoisyInput::Tleaf, FluxOutput::A), 0);
  EXPECT_NE(moved(NoisyInput::Tleaf, FluxOutput::gsw), 0);
}

TEST(Noise, DerivativesOfGswAreThoseByHand) {
  // One layer in series: 1/gsw = 1/gtw - 1/gbw, gtw = E [1 - (wl + ws)/2]/(wl - ws), wl = es/P.
  const FluxInput in = ordinary_record();
  FluxOptions options = ordinary_options();
  options.gbw_is = GbwIs::whole_leaf;
  InputSd one;
  for (std::size_t k = 0; k < 9; ++k) one.sd[k] = 1;
  const auto noise = flux_noise(in, options, one);
  ASSERT_TRUE(noise) << noise.error().text();
  const LeafState leaf = flux(in, options)->leaf;
  const auto moved = [&](NoisyInput k) {
    return noise->moved[static_cast<std::size_t>(k)][static_cast<std::size_t>(FluxOutput::gsw)];
  };
  const double P = 98.6, ws = in.H2Os / 1000, wl = (leaf.VPDleaf + ws * P) / P;
  const double by_gtw = *leaf.gsw * *leaf.gsw / (*leaf.gtw * *leaf.gtw);
  const double by_wl = -*leaf.gtw * (1 / (wl - ws) + 0.5 / (1 - (wl + ws) / 2)) * by_gtw;
  const double by_gbw = -std::pow(*leaf.gsw / *in.gbw, 2);
  const double by_tleaf = by_wl * wl * 17.502 * 240.97 / std::pow(240.97 + in.Tleaf, 2);
  EXPECT_NEAR(moved(NoisyInput::gbw) / by_gbw, 1, 1e-7);
  EXPECT_NEAR(moved(NoisyInput::Tleaf) / by_tleaf, 1, 1e-7);
  EXPECT_NEAR(moved(NoisyInput::Patm) / (-by_wl * wl / P), 1, 1e-7);
}

TEST(Noise, DerivativesOfStorageAreThoseByHand) {
  FluxInput in = ordinary_record();
  in.storage = Storage{70, 26, 1.7, 0.01};
  InputSd sd;
  sd[NoisyInput::dCO2s_dt] = 0.3;
  sd[NoisyInput::dH2Os_dt] = 0.002;
  const auto noise = flux_noise(in, ordinary_options(), sd);
  ASSERT_TRUE(noise) << noise.error().text();
  const double N = 98.6e3 * 70e-6 / (8.314462618 * 299.15), s = in.area * 1e-4;
  const auto expect = [&](NoisyInput k, FluxOutput i, double by_hand) {
    const double moved = noise->moved[static_cast<std::size_t>(k)][static_cast<std::size_t>(i)];
    EXPECT_NEAR(moved, by_hand, 1e-8 * std::abs(by_hand));
  };
  expect(NoisyInput::dCO2s_dt, FluxOutput::E, 0);
  expect(NoisyInput::dCO2s_dt, FluxOutput::A, -N / s * 0.3);
  expect(NoisyInput::dH2Os_dt, FluxOutput::E, N / s / (1 - 0.019) * 0.002);
  expect(NoisyInput::dH2Os_dt, FluxOutput::A, -N / s * in.CO2s / 981 * 0.002);
}

TEST(Noise, OfCO2sMovesAAndCiApart) {
  // A record that reads CO2s too high shows less A and more Ci.
  InputSd sd;
  sd[NoisyInput::CO2s] = 0.2;
  const auto noise = flux_noise(ordinary_record(), ordinary_options(), sd);
  ASSERT_TRUE(noise);
  EXPECT_LT(*noise->cov_A_Ci, 0);
  // With one noisy input the two move strictly together.
  EXPECT_NEAR(*noise->cov_A_Ci, -noise->A * *noise->Ci, 1e-12);
}

TEST(Noise, SaysWhatIsNotStated) {
  InputSd sd;
  sd[NoisyInput::CO2s] = 0.2;
  const auto noise = flux_noise(ordinary_record(), ordinary_options(), sd);
  const auto& missing = noise->not_stated;
  EXPECT_EQ(missing.size(), 8U);  // no storage, so its rates are not asked for
  EXPECT_EQ(std::count(missing.begin(), missing.end(), NoisyInput::CO2s), 0);
  EXPECT_EQ(noisy_input_name(missing.front()), "CO2r");
}

TEST(Noise, WithoutCiThereIsNoneOfIt) {
  FluxInput in = ordinary_record();
  in.gbw.reset();
  const auto noise = flux_noise(in, ordinary_options(), usual_sd());
  ASSERT_TRUE(noise);
  EXPECT_GT(noise->A, 0);
  EXPECT_FALSE(noise->gsw || noise->Ci || noise->cov_A_Ci);
}

TEST(Noise, BesideClosedStomataGswHasAnSdAndCiNone) {
  // E so near 0 that the least change of H2Os closes the stomata: Ci has no derivative, but what
  // is known of E, A and gsw stands, and is what the flag needs.
  FluxInput in = ordinary_record();
  in.H2Or = in.H2Os - 1e-4;
  const auto r = flux(in, ordinary_options());
  ASSERT_TRUE(r->leaf.Ci);
  const auto noise = flux_noise(in, ordinary_options(), usual_sd());
  ASSERT_TRUE(noise) << noise.error().text();
  ASSERT_TRUE(noise->gsw);
  EXPECT_FALSE(noise->Ci || noise->cov_A_Ci);
  EXPECT_EQ(noise->covariance(FluxOutput::Ci, FluxOutput::Ci), 0);
  // gsw is E over the gradient there, and the noise of water all there is to it.
  const double by_hand = 10 * in.flow / (in.area * (1000 - in.H2Os)) * std::hypot(0.02, 0.03);
  EXPECT_NEAR(noise->E / by_hand, 1, 1e-3);
  EXPECT_NEAR(*noise->gsw / noise->E, *r->leaf.gsw / r->E, 1e-3 * *r->leaf.gsw / r->E);
  const auto flags = *flux_flags(in, ordinary_options(), *r, &*noise);
  EXPECT_EQ(std::count_if(flags.begin(), flags.end(),
                          [](const RaisedFlag& f) { return f.flag == FluxFlag::gsw_near_zero; }),
            1);
}

TEST(Noise, AtTheEndOfARangeIsAnError) {
  FluxInput in = ordinary_record();
  in.Tleaf = 60;
  ASSERT_TRUE(flux(in, ordinary_options()));
  EXPECT_EQ(flux_noise(in, ordinary_options(), usual_sd()).error().code, ErrorCode::unfit);
}

TEST(Noise, AnSdThatIsNoneIsAUsageError) {
  InputSd sd;
  sd[NoisyInput::flow] = -1;
  EXPECT_EQ(flux_noise(ordinary_record(), ordinary_options(), sd).error().code, ErrorCode::usage);
}

}  // namespace
}  // namespace leafwright
