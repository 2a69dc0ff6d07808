#include "numeric/least_squares.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include "base/random.hpp"

namespace leafwright {
namespace {

using Parameters = std::span<const double>;
constexpr double infinity = std::numeric_limits<double>::infinity();

LeastSquaresProblem curve(std::vector<double> x, std::vector<double> y, std::vector<double> start,
                          std::function<double(Parameters, double)> model) {
  LeastSquaresProblem problem;
  problem.residual_count = x.size();
  problem.start = std::move(start);
  problem.residuals = [x = std::move(x), y = std::move(y), model = std::move(model)](
                          Parameters p, std::span<double> r) {
    for (std::size_t i = 0; i < r.size(); ++i) r[i] = model(p, x[i]) - y[i];
  };
  return problem;
}

LeastSquaresProblem line(std::vector<double> x, std::vector<double> y) {
  return curve(std::move(x), std::move(y), {0.0, 0.0},
               [](Parameters p, double u) { return p[0] + p[1] * u; });
}

const std::vector<double> line_x = {1, 2, 3, 4, 6, 9};
const std::vector<double> line_y = {2.1, 3.8, 6.3, 7.7, 12.4, 17.9};

TEST(LeastSquares, AStraightLineMeetsTheTextbook) {
  const auto fit = least_squares(line(line_x, line_y));
  ASSERT_TRUE(fit) << fit.error().text();
  // slope = Sxy/Sxx, var(slope) = s^2/Sxx, var(intercept) = s^2 (1/n + xbar^2/Sxx),
  // cov = -s^2 xbar/Sxx.
  const double n = 6, mean_x = std::accumulate(line_x.begin(), line_x.end(), 0.0) / n;
  const double mean_y = std::accumulate(line_y.begin(), line_y.end(), 0.0) / n;
  double sxx = 0, sxy = 0, ssr = 0;
  for (std::size_t i = 0; i < 6; ++i) {
    sxx += (line_x[i] - mean_x) * (line_x[i] - mean_x);
    sxy += (line_x[i] - mean_x) * (line_y[i] - mean_y);
  }
  const double slope = sxy / sxx, intercept = mean_y - slope * mean_x;
  for (std::size_t i = 0; i < 6; ++i) ssr += std::pow(line_y[i] - intercept - slope * line_x[i], 2);
  EXPECT_TRUE(fit->converged());
  EXPECT_NEAR(fit->parameters[0], intercept, 1e-10);
  EXPECT_NEAR(fit->parameters[1], slope, 1e-10);
  EXPECT_NEAR(fit->ssr, ssr, 1e-12);
  EXPECT_EQ(fit->df, 4);
  EXPECT_NEAR(*fit->variance, ssr / 4, 1e-12);
  EXPECT_NEAR(*fit->standard_errors[1], std::sqrt(ssr / 4 / sxx), 1e-9);
  EXPECT_NEAR(*fit->standard_errors[0], std::sqrt(ssr / 4 * (1 / n + mean_x * mean_x / sxx)), 1e-9);
  EXPECT_NEAR(fit->covariance[1], -ssr / 4 * mean_x / sxx, 1e-9);
  EXPECT_EQ(fit->covariance[1], fit->covariance[2]);
  EXPECT_EQ(fit->rank, 2u);
  EXPECT_NEAR(fit->residuals[0], intercept + slope - 2.1, 1e-10);
}

TEST(LeastSquares, AGivenJacobianAndDifferencesAgree) {
  const std::vector<double> x = {0, 1, 2, 3, 5, 8}, y = {5.1, 3.0, 1.9, 1.2, 0.3, 0.15};
  auto problem =
      curve(x, y, {3.0, 1.0}, [](Parameters p, double u) { return p[0] * std::exp(-p[1] * u); });
  const auto differences = least_squares(problem);
  problem.jacobian = [&x](Parameters p, std::span<double> J) {
    for (std::size_t i = 0; i < x.size(); ++i) {
      J[2 * i] = std::exp(-p[1] * x[i]);
      J[2 * i + 1] = -p[0] * x[i] * J[2 * i];
    }
  };
  const auto given = least_squares(problem);
  ASSERT_TRUE(differences && given);
  EXPECT_EQ(given->stop, StopReason::gradient);
  for (std::size_t j = 0; j < 2; ++j) {
    EXPECT_NEAR(differences->parameters[j], given->parameters[j], 1e-9);
    EXPECT_NEAR(*differences->standard_errors[j], *given->standard_errors[j], 1e-8);
  }
  EXPECT_LT(given->evaluations, differences->evaluations);
}

TEST(LeastSquares, WeightsCountLikeRepeatedRows) {
  auto weighted = line(line_x, line_y);
  weighted.weights = {1, 3, 1, 2, 1, 1};
  const auto repeated =
      line({1, 2, 2, 2, 3, 4, 4, 6, 9}, {2.1, 3.8, 3.8, 3.8, 6.3, 7.7, 7.7, 12.4, 17.9});
  const auto a = least_squares(weighted), b = least_squares(repeated);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->parameters[0], b->parameters[0], 1e-10);
  EXPECT_NEAR(a->parameters[1], b->parameters[1], 1e-10);
  EXPECT_NEAR(a->ssr, b->ssr, 1e-12);
  EXPECT_EQ(a->df, 4);  // six rows were measured, not nine
  EXPECT_EQ(b->df, 7);
}

TEST(LeastSquares, ARowWithoutWeightMayHoldAnything) {
  auto y = line_y;
  y[2] = std::nan("");
  auto problem = line(line_x, y);
  problem.weights = {1, 1, 0, 1, 1, 1};
  const auto a = least_squares(problem);
  ASSERT_TRUE(a) << a.error().text();
  const auto b = least_squares(line({1, 2, 4, 6, 9}, {2.1, 3.8, 7.7, 12.4, 17.9}));
  EXPECT_NEAR(a->parameters[1], b->parameters[1], 1e-10);
  EXPECT_EQ(a->df, b->df);
}

TEST(LeastSquares, AParameterAtItsBoundIsHeldAndHasNoStandardError) {
  auto problem = line(line_x, line_y);
  problem.start = {1, 1};
  problem.lower = {0.5, -infinity};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_TRUE(fit->converged());
  EXPECT_EQ(fit->bounds[0], BoundState::at_lower);
  EXPECT_EQ(fit->bounds[1], BoundState::free);
  EXPECT_EQ(fit->parameters[0], 0.5);
  EXPECT_FALSE(fit->standard_errors[0]);
  // The other is the regression through the fixed intercept: slope = sum x (y - 0.5)/sum x^2.
  double sxx = 0, sxy = 0;
  for (std::size_t i = 0; i < 6; ++i) {
    sxx += line_x[i] * line_x[i];
    sxy += line_x[i] * (line_y[i] - 0.5);
  }
  EXPECT_NEAR(fit->parameters[1], sxy / sxx, 1e-10);
  EXPECT_NEAR(*fit->standard_errors[1], std::sqrt(*fit->variance / sxx), 1e-9);
  EXPECT_EQ(fit->df, 4);  // the intercept was permitted to move, so it still costs one
  EXPECT_EQ(fit->covariance[0], 0);
  EXPECT_EQ(fit->free_count, 1u);
}

TEST(LeastSquares, AStartOnABoundLeavesItWhenTheSumFallsInward) {
  auto problem = line(line_x, line_y);
  problem.lower = {0, 0};
  problem.upper = {100, 100};
  problem.start = {0, 100};
  const auto bounded = least_squares(problem);
  const auto free = least_squares(line(line_x, line_y));
  ASSERT_TRUE(bounded && free);
  EXPECT_EQ(bounded->bounds[0], BoundState::free);
  EXPECT_NEAR(bounded->parameters[0], free->parameters[0], 1e-9);
  EXPECT_NEAR(bounded->parameters[1], free->parameters[1], 1e-9);
}

TEST(LeastSquares, AFixedParameterIsNotCounted) {
  auto problem = line(line_x, line_y);
  problem.start = {0.5, 1};
  problem.lower = {0.5, -infinity};
  problem.upper = {0.5, infinity};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->bounds[0], BoundState::fixed);
  EXPECT_EQ(fit->df, 5);
  EXPECT_EQ(fit->parameters[0], 0.5);
}

TEST(LeastSquares, EverythingAtBoundsIsSaid) {
  auto problem = line(line_x, line_y);
  problem.lower = {5, 5};
  problem.start = {6, 7};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::at_bounds);
  EXPECT_TRUE(fit->converged());
  EXPECT_EQ(fit->free_count, 0u);
}

// Second implementation: the minimum of a convex quadratic in a box lies in the relative interior
// of one of its 3^n faces, where it is an unbounded least-squares problem (Cramer's rule, n = 3).
struct Linear {
  std::array<std::array<double, 3>, 7> X;
  std::array<double, 7> y;
};

double best_over_faces(const Linear& q, double low, double high) {
  double best = infinity;
  for (int face = 0; face < 27; ++face) {
    const std::array<int, 3> state = {face % 3, face / 3 % 3, face / 9};
    std::array<double, 3> p{};
    double A[3][3] = {}, g[3] = {};
    for (std::size_t j = 0; j < 3; ++j) p[j] = state[j] == 1 ? low : high;
    for (std::size_t j = 0; j < 3; ++j) {
      if (state[j] != 0) {  // held: the equation p_j = bound
        A[j][j] = 1;
        g[j] = p[j];
        continue;
      }
      for (std::size_t i = 0; i < 7; ++i) {
        g[j] += q.X[i][j] * q.y[i];
        for (std::size_t k = 0; k < 3; ++k) A[j][k] += q.X[i][j] * q.X[i][k];
      }
    }
    const auto determinant = [](const double M[3][3]) {
      return M[0][0] * (M[1][1] * M[2][2] - M[1][2] * M[2][1]) -
             M[0][1] * (M[1][0] * M[2][2] - M[1][2] * M[2][0]) +
             M[0][2] * (M[1][0] * M[2][1] - M[1][1] * M[2][0]);
    };
    bool inside = true;
    for (std::size_t j = 0; j < 3; ++j) {
      double B[3][3];
      for (std::size_t a = 0; a < 3; ++a)
        for (std::size_t b = 0; b < 3; ++b) B[a][b] = b == j ? g[a] : A[a][b];
      p[j] = determinant(B) / determinant(A);
      inside = inside && p[j] >= low - 1e-12 && p[j] <= high + 1e-12;
    }
    double ssr = 0;
    for (std::size_t i = 0; i < 7; ++i)
      ssr += std::pow(q.X[i][0] * p[0] + q.X[i][1] * p[1] + q.X[i][2] * p[2] - q.y[i], 2);
    if (inside) best = std::min(best, ssr);
  }
  return best;
}

TEST(LeastSquares, BoundedLinearProblemsMeetTheBestOfAllFaces) {
  int with_bounds = 0;
  for (std::uint32_t trial = 0; trial < 300; ++trial) {
    RandomStream draw(7, "bounded-linear", "test", trial);
    Linear q;
    for (std::size_t i = 0; i < 7; ++i) {
      const double common = draw.normal();  // correlated columns: the hard case for active sets
      for (double& value : q.X[i]) value = common + 0.3 * draw.normal();
      q.y[i] = 2 * draw.normal();
    }
    LeastSquaresProblem problem;
    problem.residual_count = 7;
    problem.residuals = [&q](Parameters p, std::span<double> r) {
      for (std::size_t i = 0; i < 7; ++i)
        r[i] = q.X[i][0] * p[0] + q.X[i][1] * p[1] + q.X[i][2] * p[2] - q.y[i];
    };
    problem.lower = {-1, -1, -1};
    problem.upper = {1, 1, 1};
    problem.start = {draw.uniform(-1, 1), draw.uniform() < 0.5 ? -1.0 : 1.0, draw.uniform(-1, 1)};
    const auto fit = least_squares(problem);
    ASSERT_TRUE(fit);
    EXPECT_TRUE(fit->converged()) << stop_reason_name(fit->stop);
    const double best = best_over_faces(q, -1, 1);
    EXPECT_NEAR(fit->ssr, best, 1e-10 * (1 + best)) << "trial " << trial;
    for (const auto state : fit->bounds) with_bounds += state != BoundState::free;
  }
  EXPECT_GT(with_bounds, 100);  // the test is about bounds
}

// Rosenbrock 1960 and, with the bounds, its constrained minimum on the edge x = 0.5.
TEST(LeastSquares, FollowsACurvedValley) {
  LeastSquaresProblem problem;
  problem.residual_count = 2;
  problem.residuals = [](Parameters p, std::span<double> r) {
    r[0] = 10 * (p[1] - p[0] * p[0]);
    r[1] = 1 - p[0];
  };
  problem.start = {-1.2, 1};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_TRUE(fit->converged());
  EXPECT_NEAR(fit->parameters[0], 1, 1e-9);
  EXPECT_NEAR(fit->parameters[1], 1, 1e-9);
  EXPECT_EQ(fit->df, 0);
  EXPECT_FALSE(fit->variance);  // two rows, two parameters: nothing is left for a variance
  EXPECT_FALSE(fit->standard_errors[0]);
  problem.upper = {0.5, infinity};
  const auto edge = least_squares(problem);
  ASSERT_TRUE(edge);
  EXPECT_TRUE(edge->converged());
  EXPECT_EQ(edge->parameters[0], 0.5);
  EXPECT_NEAR(edge->parameters[1], 0.25, 1e-9);
  EXPECT_EQ(edge->bounds[0], BoundState::at_upper);
}

TEST(LeastSquares, WhatTheDataDoNotDetermineIsSaid) {
  // Only the product of p0 and p1 matters; p2 is determined.
  const auto problem = curve({1, 2, 3, 4, 5}, {2.2, 2.9, 4.1, 4.8, 6.1}, {1, 1, 0},
                             [](auto p, double u) { return p[0] * p[1] * u + p[2]; });
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::singular);
  EXPECT_FALSE(fit->converged());
  EXPECT_EQ(fit->rank, 2u);
  EXPECT_EQ(fit->free_count, 3u);
  EXPECT_TRUE(fit->covariance.empty());
  EXPECT_FALSE(fit->standard_errors[0]);
  EXPECT_FALSE(fit->standard_errors[1]);
  ASSERT_TRUE(fit->standard_errors[2]);
  const auto straight = least_squares(line({1, 2, 3, 4, 5}, {2.2, 2.9, 4.1, 4.8, 6.1}));
  EXPECT_NEAR(fit->parameters[0] * fit->parameters[1], straight->parameters[1], 1e-9);
  EXPECT_NEAR(fit->parameters[2], straight->parameters[0], 1e-9);
}

TEST(LeastSquares, AParameterWithoutEffectIsSingularNotConverged) {
  const auto fit = least_squares(curve({1, 2, 3, 4}, {1.1, 1.9, 3.2, 3.9}, {1, 5},
                                       [](auto p, double u) { return p[0] * u + 0 * p[1]; }));
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::singular);
  EXPECT_EQ(fit->parameters[1], 5);
  EXPECT_TRUE(fit->standard_errors[0]);
  EXPECT_FALSE(fit->standard_errors[1]);
}

TEST(LeastSquares, AKinkIsNotTakenForAMinimumOfASmoothSum) {
  // min over p of (|p - 1| + 1)^2 + (0.1 p)^2 is at the kink p = 1, where no gradient vanishes.
  LeastSquaresProblem problem;
  problem.residual_count = 2;
  problem.residuals = [](Parameters p, std::span<double> r) {
    r[0] = std::abs(p[0] - 1) + 1;
    r[1] = 0.1 * p[0];
  };
  problem.start = {3.3};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::no_progress) << stop_reason_name(fit->stop);
  EXPECT_NEAR(fit->parameters[0], 1, 1e-6);
}

TEST(LeastSquares, AWrongJacobianIsNotConvergence) {
  auto problem = line(line_x, line_y);
  problem.jacobian = [](Parameters, std::span<double> J) {
    for (std::size_t i = 0; i < 6; ++i) {
      J[2 * i] = -1;  // the sign is wrong
      J[2 * i + 1] = -line_x[i];
    }
  };
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::no_progress);
  EXPECT_FALSE(fit->converged());
}

TEST(LeastSquares, ASmallChangeOfTheSumIsNotConvergence) {
  // A long flat valley: each step lowers the sum by little, and the minimum is far.
  LeastSquaresProblem problem;
  problem.residual_count = 3;
  problem.residuals = [](Parameters p, std::span<double> r) {
    r[0] = 1e4;  // what cannot be fitted makes every relative change small
    r[1] = 100 * (p[1] - p[0] * p[0]);
    r[2] = 1e-3 * (30 - p[0]);
  };
  problem.start = {0, 0};
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  // Its whole depth is 1e-11 of the sum: either the minimum is met or the answer is no success.
  if (fit->converged()) {
    EXPECT_NEAR(fit->parameters[0], 30, 1e-3);
  }
}

TEST(LeastSquares, TheIterationLimitIsSaid) {
  LeastSquaresOptions options;
  options.max_iterations = 3;
  LeastSquaresProblem problem;
  problem.residual_count = 2;
  problem.residuals = [](Parameters p, std::span<double> r) {
    r[0] = 10 * (p[1] - p[0] * p[0]);
    r[1] = 1 - p[0];
  };
  problem.start = {-1.2, 1};
  const auto fit = least_squares(problem, options);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::iteration_limit);
  EXPECT_FALSE(fit->converged());
  EXPECT_LT(fit->ssr, 24.2);  // Rosenbrock's sum at the start
}

TEST(LeastSquares, StepsBackFromWhereTheModelEnds) {
  // log(p) is no number for p <= 0, where a full step from 3 would go.
  const auto fit = least_squares(curve({1, 1, 1}, {-2.9, -3.0, -3.1}, {3.0},
                                       [](Parameters p, double) { return std::log(p[0]); }));
  ASSERT_TRUE(fit);
  EXPECT_TRUE(fit->converged());
  EXPECT_NEAR(fit->parameters[0], std::exp(-3.0), 1e-9);
}

TEST(LeastSquares, AnExactFitConverges) {
  const auto fit =
      least_squares(curve({0, 1, 2, 3}, {2, 1, 0.5, 0.25}, {1, 0.1},
                          [](auto p, double u) { return p[0] * std::exp(-p[1] * u); }));
  ASSERT_TRUE(fit);
  EXPECT_TRUE(fit->converged()) << stop_reason_name(fit->stop);
  EXPECT_NEAR(fit->parameters[0], 2, 1e-9);
  EXPECT_NEAR(fit->parameters[1], std::log(2.0), 1e-9);
  EXPECT_LT(fit->ssr, 1e-20);
}

TEST(LeastSquares, ANonFiniteDerivativeStopsAndIsSaid) {
  auto problem = line(line_x, line_y);
  problem.jacobian = [](Parameters, std::span<double> J) {
    for (double& value : J) value = std::nan("");
  };
  const auto fit = least_squares(problem);
  ASSERT_TRUE(fit);
  EXPECT_EQ(fit->stop, StopReason::non_finite);
  EXPECT_FALSE(fit->converged());
}

TEST(LeastSquares, RefusesWhatCannotBeFitted) {
  const auto few = least_squares(line({1}, {2}));
  ASSERT_FALSE(few);
  EXPECT_EQ(few.error().code, ErrorCode::unfit);
  EXPECT_NE(few.error().text().find("1 rows for 2 free parameters"), std::string::npos);
  const auto start = least_squares(line({1, 2, 3}, {1, std::nan(""), 3}));
  ASSERT_FALSE(start);
  EXPECT_EQ(start.error().code, ErrorCode::unfit);
}

TEST(LeastSquares, RefusesACallThatIsWrong) {
  const auto code = [](const LeastSquaresProblem& problem, LeastSquaresOptions options = {}) {
    const auto fit = least_squares(problem, options);
    return fit ? ErrorCode::internal : fit.error().code;
  };
  auto problem = line(line_x, line_y);
  problem.lower = {0};
  EXPECT_EQ(code(problem), ErrorCode::usage);
  problem = line(line_x, line_y);
  problem.lower = {1, 1};
  EXPECT_EQ(code(problem), ErrorCode::usage);  // start 0 lies outside
  problem = line(line_x, line_y);
  problem.weights = {1, 1, 1, 1, 1, -1};
  EXPECT_EQ(code(problem), ErrorCode::usage);
  problem.weights = {1, 1};
  EXPECT_EQ(code(problem), ErrorCode::usage);
  problem = line(line_x, line_y);
  problem.typical = {1, 0};
  EXPECT_EQ(code(problem), ErrorCode::usage);
  problem = line(line_x, line_y);
  LeastSquaresOptions options;
  options.loss = Loss::huber;
  options.loss_scale = 0.0;
  EXPECT_EQ(code(problem, options), ErrorCode::usage);
  EXPECT_EQ(code(LeastSquaresProblem{}), ErrorCode::usage);
}

// Brownlee's stack-loss data (Brownlee 1965, Statistical Theory and Methodology; data and the
// numbers below from memory).
LeastSquaresProblem stack_loss() {
  static const std::vector<std::array<double, 4>> rows = {
      {80, 27, 89, 42}, {80, 27, 88, 37}, {75, 25, 90, 37}, {62, 24, 87, 28}, {62, 22, 87, 18},
      {62, 23, 87, 18}, {62, 24, 93, 19}, {62, 24, 93, 20}, {58, 23, 87, 15}, {58, 18, 80, 14},
      {58, 18, 89, 14}, {58, 17, 88, 13}, {58, 18, 82, 11}, {58, 19, 93, 12}, {50, 18, 89, 8},
      {50, 18, 86, 7},  {50, 19, 72, 8},  {50, 19, 79, 8},  {50, 20, 80, 9},  {56, 20, 82, 15},
      {70, 20, 91, 15}};
  LeastSquaresProblem problem;
  problem.residual_count = rows.size();
  problem.start = {0, 0, 0, 0};
  problem.residuals = [](Parameters p, std::span<double> r) {
    for (std::size_t i = 0; i < r.size(); ++i)
      r[i] = p[0] + p[1] * rows[i][0] + p[2] * rows[i][1] + p[3] * rows[i][2] - rows[i][3];
  };
  return problem;
}

TEST(LeastSquares, StackLossMeetsThePublishedRegression) {
  const auto fit = least_squares(stack_loss());
  ASSERT_TRUE(fit);
  // Draper & Smith 1966 and many textbooks (from memory).
  const double coefficients[] = {-39.9197, 0.7156, 1.2953, -0.1521};
  const double errors[] = {11.8960, 0.1349, 0.3680, 0.1563};
  for (std::size_t j = 0; j < 4; ++j) {
    EXPECT_NEAR(fit->parameters[j], coefficients[j], 6e-5);
    EXPECT_NEAR(*fit->standard_errors[j], errors[j], 6e-5);
  }
  EXPECT_NEAR(std::sqrt(*fit->variance), 3.243, 6e-4);
}

TEST(LeastSquares, HuberRegressionOfStackLossMeetsThePublishedOne) {
  LeastSquaresOptions options;
  options.loss = Loss::huber;
  const auto fit = least_squares(stack_loss(), options);
  ASSERT_TRUE(fit);
  ASSERT_TRUE(fit->converged()) << stop_reason_name(fit->stop);
  // Huber M-estimate, k = 1.345, scale by MAD, as in Venables & Ripley 2002, Modern Applied
  // Statistics with S, section 6.5 (their program stops at 1e-4 relative; from memory).
  const double coefficients[] = {-41.0265, 0.8294, 0.9261, -0.1278};
  const double errors[] = {9.8073, 0.1112, 0.3034, 0.1289};
  for (std::size_t j = 0; j < 4; ++j) {
    EXPECT_NEAR(fit->parameters[j], coefficients[j], 2e-3 * std::abs(coefficients[j]));
    EXPECT_NEAR(*fit->standard_errors[j], errors[j], 2e-3 * errors[j]);
  }
  EXPECT_NEAR(fit->loss_scale, 2.441, 5e-3);
}

// An M-estimate of location solves sum psi((y - p)/scale) = 0.
TEST(LeastSquares, RobustLocationsSolveTheirEquation) {
  const std::vector<double> y = {9.8, 10.1, 10.4, 9.9, 10.0, 10.3, 14.0, 60.0};
  const auto problem =
      curve(std::vector<double>(8, 0.0), y, {10.5}, [](Parameters p, double) { return p[0]; });
  for (const Loss loss : {Loss::huber, Loss::tukey}) {
    LeastSquaresOptions options;
    options.loss = loss;
    options.loss_scale = 0.3;
    const auto fit = least_squares(problem, options);
    ASSERT_TRUE(fit);
    ASSERT_TRUE(fit->converged());
    double sum = 0;
    for (const double value : y) {
      const double z = (value - fit->parameters[0]) / 0.3;
      const double u = z / 4.685;
      sum += loss == Loss::huber ? std::max(-1.345, std::min(1.345, z))
                                 : (std::abs(u) < 1 ? z * std::pow(1 - u * u, 2) : 0.0);
    }
    EXPECT_NEAR(sum, 0, 1e-7);
    if (loss == Loss::tukey) {
      EXPECT_EQ(fit->loss_weights.back(), 0);
    }
    EXPECT_EQ(fit->loss_scale, 0.3);
    EXPECT_NEAR(fit->parameters[0], 10.1, 0.3);  // the mean would be 16.8
  }
}

TEST(LeastSquares, RobustLossRespectsBoundsAndWeights) {
  auto problem = line(line_x, {2.1, 3.8, 6.3, 70.7, 12.4, 17.9});
  problem.weights = {1, 1, 1, 1, 1, 2};
  problem.lower = {0.5, -infinity};
  problem.start = {1, 1};
  LeastSquaresOptions options;
  options.loss = Loss::tukey;
  const auto fit = least_squares(problem, options);
  ASSERT_TRUE(fit);
  EXPECT_TRUE(fit->converged());
  EXPECT_GE(fit->parameters[0], 0.5);
  EXPECT_NEAR(fit->parameters[1], 1.95, 0.1);
  EXPECT_EQ(fit->loss_weights[3], 0);
}

TEST(LeastSquares, ARobustLossWithoutAScaleIsRefused) {
  LeastSquaresOptions options;
  options.loss = Loss::huber;
  LeastSquaresProblem problem;
  problem.residual_count = 5;
  problem.start = {0.0};
  problem.residuals = [](Parameters p, std::span<double> r) {
    for (std::size_t i = 0; i < 4; ++i) r[i] = 0;
    r[4] = p[0] - 1 + 0.5 * std::abs(p[0]);
  };
  const auto fit = least_squares(problem, options);
  ASSERT_FALSE(fit);
  EXPECT_EQ(fit.error().code, ErrorCode::unfit);
  EXPECT_NE(fit.error().text().find("scale"), std::string::npos);
}

TEST(LeastSquares, SameCallSameBytes) {
  const auto a = least_squares(stack_loss()), b = least_squares(stack_loss());
  ASSERT_TRUE(a && b);
  EXPECT_EQ(a->parameters, b->parameters);
  EXPECT_EQ(a->covariance, b->covariance);
}

// Coverage of the standard errors over repeated noise: exact for a linear model, so a check of
// s^2, df and scaling together. 2,000 draws: binomial standard error 0.5 %.
TEST(LeastSquares, IntervalsOfANonlinearCurveCoverTheTruth) {
  const std::vector<double> x = {0, 0.5, 1, 1.5, 2, 3, 4, 6};
  int covered = 0;
  constexpr int draws = 2000;
  for (std::uint32_t k = 0; k < draws; ++k) {
    RandomStream draw(21, "coverage", "test", k);
    std::vector<double> y;
    for (const double u : x) y.push_back(5 * std::exp(-0.7 * u) + 0.05 * draw.normal());
    const auto fit = least_squares(
        curve(x, y, {4, 1}, [](Parameters p, double u) { return p[0] * std::exp(-p[1] * u); }));
    ASSERT_TRUE(fit && fit->converged());
    const double t = 2.4469;  // t, 6 df, 0.975 (printed tables)
    covered += std::abs(fit->parameters[1] - 0.7) <= t * *fit->standard_errors[1];
  }
  EXPECT_GE(covered, 0.935 * draws);
  EXPECT_LE(covered, 0.965 * draws);
}

}  // namespace
}  // namespace leafwright
