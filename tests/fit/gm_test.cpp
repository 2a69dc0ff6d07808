#include "fit/gm.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.hpp"
#include "fit/exact.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

struct Draw {
  Curve curve;
  std::vector<Observation> observations;
  C3Leaf truth;
  double gm = 0;
};

Kinetics cc_kinetics() {
  return *kinetics_at(**find_kinetics("bernacchi-2002"), 25, 100, Basis::partial_pressure);
}

/// A curve without TPU at 25 degC and 100 kPa, 12 rows from Ci 45 to 1500.
Draw draw(std::uint32_t number, double noise) {
  RandomStream random(4, "gm", "gm-curve", number);
  Draw d;
  const Kinetics k = cc_kinetics();
  d.truth.Vcmax = random.uniform(40, 140);
  d.truth.J = d.truth.Vcmax * random.uniform(1.4, 2.1);
  d.truth.TPU = 1e9;
  d.truth.Rday = random.uniform(0.4, 2);
  d.gm = random.uniform(0.08, 0.5);
  d.curve.curve_id = std::to_string(number);
  for (std::size_t i = 0; i < 12; ++i) {
    CurveRow row;
    row.row = i;
    row.Ci = 45 * std::exp(std::log(1500.0 / 45) * static_cast<double>(i) / 11);
    row.A = c3_assimilation_gm(row.Ci, d.gm, d.truth, k).A + noise * random.normal();
    row.Tleaf = 25;
    row.Patm = 100;
    d.curve.rows.push_back(row);
    Observation o;
    o.A = row.A;
    o.Ci = row.Ci;
    o.kinetics = k;
    d.observations.push_back(o);
  }
  return d;
}

C3FitOptions options() {
  C3FitOptions o;
  o.kinetics = *find_kinetics("bernacchi-2002");
  o.limitations = LimitationSet{true, true, false};
  o.budget = false;
  return o;
}

TEST(Gm, HeldAtItsValueANoiseFreeCurveGivesItsTruth) {
  for (std::uint32_t i = 0; i < 10; ++i) {
    const Draw d = draw(i, 0);
    C3FitOptions o = options();
    o.gm = d.gm;
    const auto fit = fit_curve(d.curve, o);
    ASSERT_TRUE(fit.has_value()) << fit.error().text();
    EXPECT_NEAR(*fit->Vcmax.value, d.truth.Vcmax, 1e-5 * d.truth.Vcmax);
    EXPECT_NEAR(*fit->J.value, d.truth.J, 1e-5 * d.truth.J);
    EXPECT_EQ(find_estimate(*fit, "gm")->status, Status::fixed);
    EXPECT_FALSE(fit->certified);
  }
}

TEST(Gm, NamesAreNotThoseOfInfiniteGm) {
  C3FitOptions o = options();
  o.gm = 0.2;
  const auto fit = fit_curve(draw(1, 0.4).curve, o);
  ASSERT_TRUE(fit.has_value());
  EXPECT_EQ(find_estimate(*fit, "Vcmax"), nullptr);
  EXPECT_EQ(find_estimate(*fit, "J"), nullptr);
  ASSERT_NE(find_estimate(*fit, "Vcmax_gm"), nullptr);
  ASSERT_NE(find_estimate(*fit, "J_gm"), nullptr);
}

TEST(Gm, SsrIsThatOfThePrintedParameters) {
  C3FitOptions o = options();
  o.gm_free = true;
  const auto fit = fit_curve(draw(2, 0.4).curve, o);
  ASSERT_TRUE(fit.has_value());
  double sum = 0;
  for (const FittedRow& row : fit->rows) {
    const double e = row.A - fitted_rate(*fit, row.Ci);
    sum += e * e;
  }
  EXPECT_NEAR(sum, fit->ssr, 1e-9 * fit->ssr);
}

TEST(Gm, AtInfiniteGmItIsTheExactFit) {
  for (std::uint32_t i = 0; i < 10; ++i) {
    const Draw d = draw(i, 0.4);
    const LimitationSet set{true, true, false};
    const auto model = make_gm_model(d.observations, set, {}, {}, 0, {});
    ASSERT_TRUE(model.has_value());
    HeldParameters held;
    held[c3_resistance] = 0.0;
    const double exact = solve_exact(*make_problem(d.observations, set, RdayMode::free, 0)).ssr;
    EXPECT_NEAR((*model)->solve(held, nullptr).ssr, exact, 1e-9 * exact);
    EXPECT_LE((*model)->solve({}, nullptr).ssr, exact * (1 + 1e-12));
  }
}

TEST(Gm, RatesAreThoseOfTheModelAndDerivativesAgreeWithDifferences) {
  const Draw d = draw(3, 0.4);
  const auto model = make_gm_model(d.observations, {true, true, true}, {}, {}, 0.2, {});
  ASSERT_TRUE(model.has_value());
  const C3Leaf leaf{90, 150, 9.5, 1.1};
  const Parameters p{leaf.Vcmax, leaf.J, leaf.TPU, leaf.Rday, 1 / 0.21};
  std::vector<double> A(12), J(12 * most_parameters), above(12), below(12);
  (*model)->rates(p, A.data(), J.data());
  for (std::size_t i = 0; i < 12; ++i) {
    const Observation& o = d.observations[i];
    EXPECT_NEAR(A[i], c3_assimilation_gm(o.Ci, 0.21, leaf, o.kinetics, {}, 0.2).A, 1e-9);
  }
  for (std::size_t k = 0; k < most_parameters; ++k) {
    Parameters q = p;
    const double h = 1e-5 * p[k];
    q[k] = p[k] + h;
    (*model)->rates(q, above.data(), nullptr);
    q[k] = p[k] - h;
    (*model)->rates(q, below.data(), nullptr);
    for (std::size_t i = 0; i < 12; ++i) {
      EXPECT_NEAR(J[i * most_parameters + k], (above[i] - below[i]) / (2 * h), 1e-6);
    }
  }
}

TEST(Gm, AFreeGmIsSeldomBoundedAboveAndHoldsTheTruth) {
  int open = 0, covered = 0;
  constexpr std::uint32_t draws = 120;
  for (std::uint32_t i = 0; i < draws; ++i) {
    const Draw d = draw(i, 0.4);
    auto model = *make_gm_model(d.observations, {true, true, false}, {}, {}, 0, {});
    SmallMinimum best = model->solve({}, nullptr);
    const SmallExtent e =
        small_profile(*model, best, c3_resistance, profile_threshold(*model, best.ssr, 0.95));
    open += e.high ? 0 : 1;
    covered += e.low.value_or(0) <= d.gm && (!e.high || *e.high >= d.gm) ? 1 : 0;
  }
  EXPECT_GE(covered, 0.89 * draws);
  EXPECT_GT(open, 0.1 * draws);
}

TEST(Gm, ProfilesGoBothWaysFromTheValue) {
  for (std::uint32_t i = 0; i < 25; ++i) {
    const Draw d = draw(i, 0.4);
    const auto model = *make_gm_model(d.observations, {true, true, i % 2 == 0}, {}, {}, 0, {});
    SmallMinimum best = model->solve({}, nullptr);
    const auto estimates = small_estimates(*model, best, {});
    for (const std::size_t k : {c3_v, c3_j, c3_r}) {
      const Estimate& e = estimates[k];
      if (!e.value) continue;
      const double value = *e.value;
      if (e.high) {
        EXPECT_GT(*e.high, value + 1e-6 * std::abs(value)) << i << " " << e.symbol;
      }
      if (e.low && value > 0) {
        EXPECT_LT(*e.low, value - 1e-6 * std::abs(value)) << i << " " << e.symbol;
      }
    }
  }
}

TEST(Gm, ManyStartsSeldomBeatIt) {
  int beaten = 0;
  for (std::uint32_t i = 0; i < 60; ++i) {
    const Draw d = draw(i, 0.4);
    const auto model = *make_gm_model(d.observations, {true, true, false}, {}, {}, 0, {});
    const double ours = model->solve({}, nullptr).ssr;
    double scale = 0, theirs = 1e300;
    for (const Observation& o : d.observations) scale += o.A * o.A;
    RandomStream random(3, "starts", "gm-starts", i);
    for (int t = 0; t < 40; ++t) {
      const Parameters start{random.uniform(20, 250), random.uniform(40, 400),
                             std::numeric_limits<double>::infinity(), random.uniform(0, 4),
                             random.uniform(0, 20)};
      theirs = std::min(theirs, model->solve({}, &start).ssr);
    }
    beaten += theirs < ours - std::max(1e-3 * ours, 1e-6 * scale) ? 1 : 0;
  }
  EXPECT_LE(beaten, 1);
}

TEST(Gm, ACiSetIsRefused) {
  C3FitOptions o = options();
  o.kinetics = *find_kinetics("bernacchi-2001");
  o.gm = 0.2;
  EXPECT_EQ(fit_curve(draw(1, 0.4).curve, o).error().code, ErrorCode::refused);
}

TEST(Gm, TooFewRowsForAFreeGm) {
  C3FitOptions o = options();
  o.gm_free = true;
  Curve few = draw(1, 0.4).curve;
  few.rows.resize(3);
  const auto fit = fit_curve(few, o);
  ASSERT_FALSE(fit.has_value());
  EXPECT_EQ(fit.error().code, ErrorCode::unfit);
}

TEST(GmOptions, AreCheckedBeforeAnythingIsRead) {
  const auto with = [](const char* kinetics, const char* gm, const char* smooth) {
    Settings s(fit_settings());
    EXPECT_TRUE(s.set("kinetics", kinetics, SettingOrigin::option).has_value());
    EXPECT_TRUE(s.set("gm", gm, SettingOrigin::option).has_value());
    EXPECT_TRUE(s.set("smooth", smooth, SettingOrigin::option).has_value());
    return fit_options(s);
  };
  EXPECT_TRUE(with("bernacchi-2002", "free", "none")->gm_free);
  EXPECT_EQ(with("bernacchi-2002", "0.25", "none")->gm, 0.25);
  EXPECT_EQ(with("bernacchi-2001", "0.25", "none").error().code, ErrorCode::refused);
  EXPECT_EQ(with("bernacchi-2002", "250", "none").error().code, ErrorCode::usage);
  EXPECT_EQ(with("bernacchi-2002", "-1", "none").error().code, ErrorCode::usage);
  EXPECT_EQ(with("bernacchi-2002", "0.25", "0.98").error().code, ErrorCode::refused);
  EXPECT_EQ(with("bernacchi-2001", "infinite", "1.2").error().code, ErrorCode::usage);
  EXPECT_EQ(with("bernacchi-2001", "infinite", "0.98")->theta, 0.98);
}

}  // namespace
}  // namespace leafwright
