#include "fit/smooth.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/exact.hpp"
#include "fit/fitted.hpp"
#include "fit/gm.hpp"
#include "support/coverage.hpp"
#include "support/stress_curves.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

stress::Curve plain(std::uint32_t number) {
  stress::Plain kind;
  kind.n = 13;
  kind.tpu_drop = number % 2 == 0 ? 0.1 : -1;
  return stress::plain_curve(2, number, kind);
}

TEST(Smooth, ThetaOneIsTheSharpMinimum) {
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
  const C3Leaf leaf{80, 150, 9, 1.2};
  for (const double C : {20.0, 60.0, 200.0, 400.0, 900.0, 1500.0}) {
    EXPECT_NEAR(smooth_c3_rate(C, 1, leaf, k), c3_assimilation(C, leaf, k).A, 1e-6);
    EXPECT_LT(smooth_c3_rate(C, 0.98, leaf, k) * (C > k.gamma_star ? 1 : -1),
              c3_assimilation(C, leaf, k).A * (C > k.gamma_star ? 1 : -1) + 2.4);
  }
  // An infinite capacity takes no part.
  const C3Leaf rubisco{80, infinity, infinity, 1.2};
  EXPECT_DOUBLE_EQ(smooth_c3_rate(300, 0.9, rubisco, k), c3_assimilation(300, rubisco, k).A);
  EXPECT_THROW(smooth_c3_rate(300, 0.9, {infinity, infinity, infinity, 0}, k), std::logic_error);
}

TEST(Smooth, DerivativesAgreeWithDifferences) {
  const stress::Curve c = plain(3);
  const auto model = make_smooth_model(c.observations(), {true, true, true}, {}, {}, 0, 0.95);
  ASSERT_TRUE(model.has_value());
  const Parameters p{90, 1 / 160.0, 1 / 10.0, 1.1};
  const std::size_t n = c.size();
  std::vector<double> A(n), J(n * most_parameters), above(n), below(n);
  (*model)->rates(p, A.data(), J.data());
  for (std::size_t k = 0; k < 4; ++k) {
    Parameters q = p;
    const double h = 1e-5 * p[k];
    q[k] = p[k] + h;
    (*model)->rates(q, above.data(), nullptr);
    q[k] = p[k] - h;
    (*model)->rates(q, below.data(), nullptr);
    for (std::size_t i = 0; i < n; ++i) {
      const double slope = (above[i] - below[i]) / (2 * h);
      EXPECT_NEAR(J[i * most_parameters + k], slope, 1e-5 * (1 + std::abs(slope)));
    }
  }
}

TEST(Smooth, NoiseFreeCurvesGiveTheirTruth) {
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2001"), 25, 100, Basis::partial_pressure);
  const C3Leaf truth{80, 150, 10, 1.2};
  Curve curve;
  curve.curve_id = "x";
  for (std::size_t i = 0; i < 14; ++i) {
    CurveRow row;
    row.row = i;
    row.Ci = 45 * std::exp(std::log(1600.0 / 45) * static_cast<double>(i) / 13);
    row.A = smooth_c3_rate(row.Ci, 0.98, truth, k);
    row.Tleaf = 25;
    row.Patm = 100;
    curve.rows.push_back(row);
  }
  C3FitOptions o;
  o.kinetics = *find_kinetics("bernacchi-2001");
  o.limitations = LimitationSet{true, true, true};
  o.theta = 0.98;
  const auto fit = fit_curve(curve, o);
  ASSERT_TRUE(fit.has_value()) << fit.error().text();
  EXPECT_NEAR(*fit->Vcmax.value, 80, 1e-3);
  EXPECT_NEAR(*fit->J.value, 150, 1e-2);
  EXPECT_NEAR(*fit->TPU.value, 10, 1e-3);
  EXPECT_EQ(fit->theta, 0.98);
  EXPECT_FALSE(fit->certified);
  EXPECT_NE(fit->certificate.find("0.98"), std::string::npos);
}

TEST(Smooth, NearThetaOneItFitsNoWorseThanTheExactSolutionDoes) {
  // A row on a kink of the exact solution is blended by 1 % even at this theta, so the sums differ.
  constexpr double theta = 0.9999;
  for (std::uint32_t i = 0; i < 40; ++i) {
    const stress::Curve c = plain(i);
    const auto model = make_smooth_model(c.observations(), {true, true, false}, {}, {}, 0, theta);
    ASSERT_TRUE(model.has_value());
    const C3Leaf exact =
        solve_exact(*make_problem(c.observations(), {true, true, false}, RdayMode::free, 0)).leaf;
    double ssr = 0;
    for (const Observation& o : c.observations()) {
      const double e = smooth_c3_rate(o.Ci, theta, exact, o.kinetics) - o.A;
      ssr += e * e;
    }
    EXPECT_LE((*model)->solve({}, nullptr).ssr, ssr * (1 + 1e-9)) << i;
  }
}

TEST(Smooth, ManyStartsSeldomBeatIt) {
  int beaten = 0;
  for (std::uint32_t i = 0; i < 60; ++i) {
    const stress::Curve c = plain(i);
    const auto model = *make_smooth_model(c.observations(), {true, true, true}, {}, {}, 0, 0.98);
    const double ours = model->solve({}, nullptr).ssr;
    double scale = 0, theirs = infinity;
    for (const double A : c.A) scale += A * A;
    RandomStream random(3, "starts", "smooth-starts", i);
    for (int t = 0; t < 40; ++t) {
      const Parameters start{random.uniform(10, 250), 1 / random.uniform(20, 400),
                             1 / random.uniform(2, 30), random.uniform(0, 4)};
      theirs = std::min(theirs, model->solve({}, &start).ssr);
    }
    beaten += theirs < ours - std::max(1e-3 * ours, 1e-6 * scale) ? 1 : 0;
  }
  EXPECT_LE(beaten, 1);
}

TEST(Smooth, ThetaOutOfRangeIsRefused) {
  for (const double theta : {0.0, -0.1, 1.1, std::nan("")}) {
    const auto model =
        make_smooth_model(plain(1).observations(), {true, true, true}, {}, {}, 0, theta);
    ASSERT_FALSE(model.has_value());
    EXPECT_EQ(model.error().code, ErrorCode::usage);
  }
}

}  // namespace
}  // namespace leafwright
