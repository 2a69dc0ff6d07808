// Correlated residuals: the formulas computed again with plain loops, and by simulation.
#include "fit/correlation.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "base/random.hpp"
#include "numeric/distributions.hpp"
#include "support/stress_curves.hpp"

namespace leafwright {
namespace {

using Matrix = std::vector<std::vector<double>>;

Matrix product(const Matrix& a, const Matrix& b) {
  Matrix out(a.size(), std::vector<double>(b.front().size(), 0.0));
  for (std::size_t i = 0; i < a.size(); ++i)
    for (std::size_t j = 0; j < b.front().size(); ++j)
      for (std::size_t k = 0; k < b.size(); ++k) out[i][j] += a[i][k] * b[k][j];
  return out;
}

Matrix transposed(const Matrix& a) {
  Matrix out(a.front().size(), std::vector<double>(a.size()));
  for (std::size_t i = 0; i < a.size(); ++i)
    for (std::size_t j = 0; j < a.front().size(); ++j) out[j][i] = a[i][j];
  return out;
}

/// Gauss-Jordan with row exchange.
Matrix inverse(Matrix a) {
  const std::size_t n = a.size();
  Matrix out(n, std::vector<double>(n, 0.0));
  for (std::size_t i = 0; i < n; ++i) out[i][i] = 1;
  for (std::size_t c = 0; c < n; ++c) {
    std::size_t pivot = c;
    for (std::size_t r = c; r < n; ++r)
      if (std::abs(a[r][c]) > std::abs(a[pivot][c])) pivot = r;
    std::swap(a[c], a[pivot]);
    std::swap(out[c], out[pivot]);
    const double d = a[c][c];
    for (std::size_t k = 0; k < n; ++k) {
      a[c][k] /= d;
      out[c][k] /= d;
    }
    for (std::size_t r = 0; r < n; ++r) {
      if (r == c) continue;
      const double f = a[r][c];
      for (std::size_t k = 0; k < n; ++k) {
        a[r][k] -= f * a[c][k];
        out[r][k] -= f * out[c][k];
      }
    }
  }
  return out;
}

double trace(const Matrix& a) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i][i];
  return sum;
}

Matrix ar1(std::size_t n, double rho) {
  Matrix out(n, std::vector<double>(n));
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      out[i][j] = std::pow(rho, std::abs(static_cast<double>(i) - static_cast<double>(j)));
  return out;
}

Matrix design_matrix(const Design& d) {
  Matrix X(d.rows, std::vector<double>(d.columns.size()));
  for (std::size_t i = 0; i < d.rows; ++i)
    for (std::size_t k = 0; k < d.columns.size(); ++k) X[i][k] = d.X[i * d.columns.size() + k];
  return X;
}

struct Direct {
  Matrix G, H, M;  ///< (X'X)^-1, G X', I - X H
  explicit Direct(const Matrix& X) {
    G = inverse(product(transposed(X), X));
    H = product(G, transposed(X));
    M = product(X, H);
    for (std::size_t i = 0; i < M.size(); ++i)
      for (std::size_t j = 0; j < M.size(); ++j) M[i][j] = (i == j ? 1 : 0) - M[i][j];
  }
};

Design solved_design(std::uint32_t number, double correlation = 0, std::size_t n = 13) {
  stress::Plain plain;
  plain.n = n;
  plain.correlation = correlation;
  plain.tpu_drop = 0.12;
  const auto c = stress::plain_curve(41, number, plain);
  const auto p = make_problem(c.observations(), {true, true, true}, RdayMode::free, 0);
  return make_design(*p, solve_exact(*p));
}

TEST(Widening, AgreesWithTheFormulasComputedDirectly) {
  for (std::uint32_t k = 0; k < 20; ++k) {
    const Design d = solved_design(k);
    const Matrix X = design_matrix(d);
    const Direct direct(X);
    for (const double rho : {0.0, 0.3, 0.7, 0.95}) {
      const Matrix R = ar1(d.rows, rho);
      const Matrix MR = product(direct.M, R);
      const Matrix HRH = product(product(direct.H, R), transposed(direct.H));
      const auto w = widen(d, rho);
      ASSERT_TRUE(w);
      EXPECT_NEAR(w->df, trace(MR) * trace(MR) / trace(product(MR, MR)), 1e-7);
      ASSERT_EQ(w->factor.size(), d.columns.size());
      for (std::size_t j = 0; j < d.columns.size(); ++j) {
        const double expected = HRH[j][j] / (direct.G[j][j] * trace(MR));
        EXPECT_NEAR(w->factor[j], expected, 1e-7 * expected);
      }
    }
  }
}

TEST(Widening, WithoutCorrelationItIsThePlainThreshold) {
  const Design d = solved_design(3);
  const auto w = widen(d, 0);
  ASSERT_TRUE(w);
  const double df = static_cast<double>(d.rows - d.columns.size());
  EXPECT_NEAR(w->df, df, 1e-9);
  for (const double f : w->factor) EXPECT_NEAR(f, 1 / df, 1e-9);
}

TEST(Widening, ASingularDesignHasNone) {
  Design d;
  d.rows = 6;
  d.columns = {Parameter::Vcmax, Parameter::J};
  for (int i = 0; i < 6; ++i) {
    d.X.push_back(i);
    d.X.push_back(2 * i);
    d.residuals.push_back(1);
  }
  EXPECT_FALSE(widen(d, 0.5));
  d.columns = {Parameter::Vcmax};
  d.rows = 1;
  d.X = {1};
  d.residuals = {0};
  EXPECT_FALSE(widen(d, 0.5)) << "no degrees of freedom";
}

TEST(CorrelationProfile, ExpectedIsThatOfTheResidualForms) {
  for (std::uint32_t k = 0; k < 10; ++k) {
    const Design d = solved_design(k);
    const auto profile = correlation_profile(d);
    ASSERT_TRUE(profile);
    const Direct direct(design_matrix(d));
    Matrix S(d.rows, std::vector<double>(d.rows, 0.0));
    for (std::size_t i = 1; i < d.rows; ++i) S[i][i - 1] = S[i - 1][i] = 0.5;
    for (const double rho : {0.0, 0.4, 0.8}) {
      const Matrix R = ar1(d.rows, rho);
      const Matrix MSM = product(product(direct.M, S), direct.M);
      const double expected = trace(product(MSM, R)) / trace(product(direct.M, R));
      EXPECT_NEAR(profile->expected(rho), expected, 1e-8);
    }
    double top = 0, bottom = 0;
    for (std::size_t i = 0; i < d.rows; ++i) {
      bottom += d.residuals[i] * d.residuals[i];
      if (i > 0) top += d.residuals[i] * d.residuals[i - 1];
    }
    EXPECT_NEAR(profile->observed, top / bottom, 1e-12);
  }
}

TEST(CorrelationProfile, SimulatedResidualsHaveTheExpectedForms) {
  // e = M z with z ~ AR(1): the mean of e'Se over the mean of e'e.
  const Design d = solved_design(7);
  const auto profile = correlation_profile(d);
  ASSERT_TRUE(profile);
  const Direct direct(design_matrix(d));
  constexpr double rho = 0.6;
  double top = 0, bottom = 0;
  RandomStream draw(9, "simulated", "correlation-test");
  for (int k = 0; k < 20000; ++k) {
    Matrix z(d.rows, std::vector<double>(1));
    z[0][0] = draw.normal();
    for (std::size_t i = 1; i < d.rows; ++i) {
      z[i][0] = rho * z[i - 1][0] + std::sqrt(1 - rho * rho) * draw.normal();
    }
    const Matrix e = product(direct.M, z);
    for (std::size_t i = 0; i < d.rows; ++i) {
      bottom += e[i][0] * e[i][0];
      if (i > 0) top += e[i][0] * e[i - 1][0];
    }
  }
  EXPECT_NEAR(profile->expected(rho), top / bottom, 0.01);
}

TEST(Correlation, IsFoundOverManyCurvesAndNotOverFew) {
  for (const double truth : {0.0, 0.5, 0.8}) {
    std::vector<CorrelationProfile> profiles;
    for (std::uint32_t k = 0; k < 400; ++k) {
      if (auto p = correlation_profile(solved_design(k, truth, 20))) profiles.push_back(*p);
    }
    const auto rho = estimate_correlation(profiles);
    ASSERT_TRUE(rho);
    // Kinks that follow the noise take some of the correlation away.
    EXPECT_GE(*rho, truth - 0.15);
    EXPECT_LE(*rho, truth + 0.05);
    profiles.resize(4);
    EXPECT_FALSE(estimate_correlation(profiles));
  }
}

TEST(Residuals, RunsAndLargestAgainstHandComputation) {
  Design d;
  d.rows = 10;
  d.columns = {Parameter::Rday};
  for (std::size_t i = 0; i < d.rows; ++i) d.X.push_back(-1);
  // 5 up, 5 down in two runs: mean 6, variance 2*25*(50-10)/(100*9) = 20/9.
  d.residuals = {1, 1, 1, 1, 1, -1, -1, -1, -1, -1};
  const RunsAndOutliers r = check_residuals(d);
  ASSERT_TRUE(r.runs_p);
  const double z = (std::abs(2 - 6.0) - 0.5) / std::sqrt(20.0 / 9.0);
  EXPECT_NEAR(*r.runs_p, std::erfc(z / std::sqrt(2.0)), 1e-12);
  // Leverage 1/10 each, s^2 = 10/9: 1/(s sqrt(0.9)) = 1.
  ASSERT_TRUE(r.largest);
  EXPECT_NEAR(*r.largest, 1, 1e-12);
  EXPECT_EQ(*r.outlier_p, 1);
}

TEST(Residuals, AnOutlierIsTestedAgainstTheOtherRows) {
  // Mean of ten values, one of them off: the two-sample t test of one value against nine is the
  // same test.
  Design d;
  d.rows = 10;
  d.columns = {Parameter::Rday};
  const std::vector<double> y{0.3, -0.2, 0.1, 0.4, -0.5, 0.2, -0.1, 0.0, -0.2, 4.0};
  double mean = 0;
  for (const double v : y) mean += v / 10;
  for (const double v : y) {
    d.X.push_back(-1);
    d.residuals.push_back(v - mean);
  }
  double others = 0, ss = 0;
  for (std::size_t i = 0; i < 9; ++i) others += y[i] / 9;
  for (std::size_t i = 0; i < 9; ++i) ss += (y[i] - others) * (y[i] - others);
  const double t = (4.0 - others) / std::sqrt(ss / 8 * (1 + 1.0 / 9));
  const RunsAndOutliers r = check_residuals(d);
  ASSERT_TRUE(r.outlier_p);
  EXPECT_NEAR(*r.outlier_p, 20 * t_upper(t, 8), 1e-12);
  EXPECT_LT(*r.outlier_p, 0.01);
}

}  // namespace
}  // namespace leafwright
