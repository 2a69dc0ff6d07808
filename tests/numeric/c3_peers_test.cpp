// The two peers of the exact C3 solver (tests/support) are themselves tested here: against closed
// forms, against each other, against blind sampling, and the assumed order of states against all
// assignments.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "base/random.hpp"
#include "support/c3_exhaustive.hpp"
#include "support/lm_peer.hpp"

namespace leafwright {
namespace {

namespace ex = c3_exhaustive;

// Curves that are easy, poor and nasty by turns: few points, near ties, C around G and (1 + 3a) G,
// noise larger than the signal. Km > 2 G throughout.
ex::Problem invented(std::uint32_t number, std::size_t n) {
  RandomStream draw(2024, "c3-peers", "curves", number);
  ex::Problem q;
  q.G = draw.uniform(25, 60);
  q.Km = q.G * draw.uniform(2.1, 20);
  q.alpha = draw.uniform() < 0.3 ? draw.uniform(0, 0.6) : 0;
  const bool nasty = draw.uniform() < 0.4;
  const double V = draw.uniform(10, 150), J = V * draw.uniform(0.8, 2.5);
  const double T = V * draw.uniform(0.03, 0.2), Rd = draw.uniform(0, 3);
  const double noise = nasty ? draw.uniform(1, 15) : draw.uniform(0.05, 1);
  for (std::size_t i = 0; i < n; ++i) {
    double C = nasty ? draw.uniform(5, 400) : draw.uniform(40, 1800);
    if (nasty && i > 0 && draw.uniform() < 0.15) C = q.C.back() * (1 + 1e-4 * draw.uniform());
    const double above = C - (1 + 3 * q.alpha) * q.G;
    double W = std::min(V * C / (C + q.Km), J * C / (4 * C + 8 * q.G));
    if (above > 0) W = std::min(W, 3 * T * C / above);
    q.C.push_back(C);
    q.A.push_back((1 - q.G / C) * W - Rd + noise * draw.normal());
  }
  return q;
}

std::vector<ex::Problem> variants(ex::Problem q) {
  std::vector<ex::Problem> out;
  for (const bool rubp : {false, true})
    for (const bool tpu : {false, true})
      for (const auto respiration :
           {ex::Respiration::free, ex::Respiration::fixed, ex::Respiration::fraction}) {
        q.rubp = rubp;
        q.tpu = tpu;
        q.respiration = respiration;
        q.respiration_value = respiration == ex::Respiration::fraction ? 0.015 : 1.1;
        out.push_back(q);
      }
  return out;
}

std::string told(const ex::Problem& q) {
  return std::string("rubp ") + (q.rubp ? "yes" : "no") + ", tpu " + (q.tpu ? "yes" : "no") +
         ", respiration mode " + std::to_string(static_cast<int>(q.respiration));
}

double floor_of(const ex::Problem& q) {
  double sum = 0;
  for (const double a : q.A) sum += a * a;
  return sum;
}

// The coefficient arrays that the peer wants.
struct Arrays {
  std::vector<double> wc, wj, wp, h;
  lm_peer::Curve curve;
  explicit Arrays(const ex::Problem& q)
      : wc(q.C.size()), wj(q.C.size()), wp(q.C.size()), h(q.C.size()) {
    for (std::size_t i = 0; i < q.C.size(); ++i)
      lm_peer::coefficients(q.C[i], q.G, q.Km, q.alpha, wc[i], wj[i], wp[i], h[i]);
    curve = {wc.data(),
             wj.data(),
             wp.data(),
             h.data(),
             q.A.data(),
             q.C.size(),
             q.rubp,
             q.tpu,
             static_cast<lm_peer::Respiration>(q.respiration),
             q.respiration_value};
  }
  Arrays(const Arrays&) = delete;
  Arrays& operator=(const Arrays&) = delete;
};

TEST(C3Exhaustive, RubiscoAloneWithFixedRespirationIsAClosedForm) {
  ex::Problem q;
  q.G = 40;
  q.Km = 700;
  q.C = {60, 120, 250, 400};
  q.A = {0.5, 4.2, 11.9, 18.0};
  q.rubp = q.tpu = false;
  q.respiration = ex::Respiration::fixed;
  q.respiration_value = 1;
  double xx = 0, xy = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    const double x = (q.C[i] - q.G) / (q.C[i] + q.Km);
    xx += x * x;
    xy += x * (q.A[i] + 1);
  }
  const auto found = ex::ordered(q);
  EXPECT_NEAR(static_cast<double>(found.V), xy / xx, 1e-12);
  EXPECT_EQ(found.cells, 1);
  // All below -Rd: the flat curve A = -Rd is the best that V >= 0 permits.
  q.A = {-3, -4, -5, -6};
  const auto flat = ex::ordered(q);
  EXPECT_NEAR(static_cast<double>(flat.V), 0, 1e-15);
  EXPECT_NEAR(static_cast<double>(flat.ssr), 4 + 9 + 16 + 25, 1e-12);
}

TEST(C3Exhaustive, RecoversACurveWithoutNoise) {
  ex::Problem q;
  q.G = 42.75;
  q.Km = 710.3;
  q.C = {50, 80, 120, 200, 300, 420, 600, 800, 1000, 1300, 1600};
  for (const double C : q.C)
    q.A.push_back((1 - q.G / C) * std::min({80 * C / (C + q.Km), 150 * C / (4 * C + 8 * q.G),
                                            11 * 3 * C / (C - q.G)}) -
                  1.3);
  const auto found = ex::ordered(q);
  EXPECT_LT(static_cast<double>(found.ssr), 1e-24);
  EXPECT_NEAR(static_cast<double>(found.V), 80, 1e-9);
  EXPECT_NEAR(static_cast<double>(found.J), 150, 1e-9);
  EXPECT_NEAR(static_cast<double>(found.T), 11, 1e-9);
  EXPECT_NEAR(static_cast<double>(found.Rd), 1.3, 1e-9);
}

TEST(C3Exhaustive, FindsTheCornerWhereTpuIsZero) {
  // Rubisco explains what lies below the compensation point; everything above is -Rd.
  ex::Problem q;
  q.G = 45;
  q.Km = 700;
  q.C = {10, 20, 30, 80, 150, 400};
  for (const double C : q.C) q.A.push_back(C < q.G ? 100 * (C - q.G) / (C + q.Km) - 1 : -1.0);
  q.rubp = false;
  const auto found = ex::ordered(q);
  EXPECT_LT(static_cast<double>(found.ssr), 1e-24);
  EXPECT_NEAR(static_cast<double>(found.T), 0, 1e-12);
  EXPECT_NEAR(static_cast<double>(found.V), 100, 1e-9);
}

TEST(C3Exhaustive, TheOrderOfStatesLosesNothing) {
  for (std::uint32_t number = 0; number < 9; ++number)
    for (const auto& q : variants(invented(number, 3 + number % 3))) {
      const auto split = ex::ordered(q), all = ex::every_assignment(q);
      EXPECT_NEAR(static_cast<double>(split.ssr), static_cast<double>(all.ssr), 1e-13 * floor_of(q))
          << "curve " << number << ", " << told(q);
    }
}

TEST(C3Exhaustive, BlindSamplingFindsNothingBetter) {
  for (std::uint32_t number = 0; number < 12; ++number)
    for (const auto& q : variants(invented(number, 9))) {
      const auto best = ex::ordered(q);
      RandomStream draw(3, std::to_string(number), "blind");
      for (int k = 0; k < 200; ++k) {
        // Near the best, where a lower place would most likely be, and far.
        const double spread = k < 100 ? 0.02 : 1;
        const auto near = [&](ex::Real value, double otherwise) {
          const double base = std::isinf(value) ? otherwise : static_cast<double>(value);
          return base * std::exp(spread * draw.normal());
        };
        const ex::Real V = near(best.V, 300), J = near(best.J, 600), T = near(best.T, 80);
        ex::Real Rd = near(best.Rd, 1);
        if (q.respiration == ex::Respiration::fixed) Rd = q.respiration_value;
        if (q.respiration == ex::Respiration::fraction) Rd = q.respiration_value * V;
        ASSERT_GE(static_cast<double>(ex::objective(q, V, J, T, Rd) - best.ssr),
                  -1e-13 * floor_of(q))
            << "curve " << number << ", " << told(q);
      }
    }
}

TEST(C3Exhaustive, WeightsCountLikeRepeatedPoints) {
  auto q = invented(4, 8);
  auto repeated = q;
  q.weights.assign(8, 1);
  q.weights[2] = 2;
  repeated.C.push_back(q.C[2]);
  repeated.A.push_back(q.A[2]);
  EXPECT_NEAR(static_cast<double>(ex::ordered(q).ssr),
              static_cast<double>(ex::ordered(repeated).ssr), 1e-12);
}

TEST(LmPeer, NeverBeatsTheExhaustiveSearchAndOftenMeetsIt) {
  int runs = 0, met = 0;
  for (std::uint32_t number = 0; number < 30; ++number)
    for (const auto& q : variants(invented(number, 5 + number % 9))) {
      const auto best = ex::ordered(q);
      const Arrays arrays(q);
      const auto found = lm_peer::search(arrays.curve, 30, 1, std::to_string(number));
      const double excess = found.ssr - static_cast<double>(best.ssr);
      ASSERT_GE(excess, -1e-12 * floor_of(q)) << "curve " << number << ", " << told(q);
      ++runs;
      met += excess <= 1e-6 * floor_of(q);
    }
  EXPECT_GT(met, runs / 2) << "of " << runs;
}

TEST(LmPeer, ItsSumAgreesWithTheOtherEvaluation) {
  for (std::uint32_t number = 0; number < 20; ++number)
    for (const auto& q : variants(invented(number, 11))) {
      const Arrays arrays(q);
      const lm_peer::Parameters p = {55, 120, 7, 0.8};
      const auto other = static_cast<double>(ex::objective(q, p[0], p[1], p[2], p[3]));
      EXPECT_NEAR(lm_peer::sum_of_squares(arrays.curve, p), other, 1e-12 * other);
    }
}

TEST(LmPeer, ItsGradientIsTheSlopeOfItsSum) {
  for (std::uint32_t number = 0; number < 20; ++number)
    for (const auto& q : variants(invented(number, 11))) {
      const Arrays arrays(q);
      const auto respire = [&q](lm_peer::Parameters p) {
        if (q.respiration == ex::Respiration::fraction) p[3] = q.respiration_value * p[0];
        return p;
      };
      const lm_peer::Parameters p = respire({63.1, 117.3, 8.7, 0.9});
      lm_peer::Normal normal;
      const double ssr = lm_peer::normal_equations(arrays.curve, p, normal);
      for (std::size_t k = 0; k < 4; ++k) {
        if (k == 3 && q.respiration != ex::Respiration::free) continue;
        auto above = p, below = p;
        const double step = 1e-6 * p[k];
        above[k] += step;
        below[k] -= step;
        const double slope = (lm_peer::sum_of_squares(arrays.curve, respire(above)) -
                              lm_peer::sum_of_squares(arrays.curve, respire(below))) /
                             (2 * step);
        EXPECT_NEAR(-2 * normal.g[k], slope, 1e-5 * (ssr / p[k] + std::abs(slope))) << told(q);
      }
    }
}

TEST(LmPeer, RecoversACurveWithoutNoiseAndRepeatsItself) {
  ex::Problem q;
  q.G = 42.75;
  q.Km = 710.3;
  q.C = {50, 80, 120, 200, 300, 420, 600, 800, 1000, 1300, 1600};
  for (const double C : q.C)
    q.A.push_back((1 - q.G / C) * std::min(80 * C / (C + q.Km), 150 * C / (4 * C + 8 * q.G)) - 1.3);
  q.tpu = false;
  const Arrays arrays(q);
  const auto found = lm_peer::search(arrays.curve, 20);
  EXPECT_NEAR(found.p[0], 80, 1e-5);
  EXPECT_NEAR(found.p[1], 150, 1e-5);
  EXPECT_NEAR(found.p[3], 1.3, 1e-5);
  EXPECT_TRUE(std::isinf(found.p[2]));
  EXPECT_EQ(lm_peer::search(arrays.curve, 20).p, found.p);
}

}  // namespace
}  // namespace leafwright
