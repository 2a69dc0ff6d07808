// Lines, cells and loggers beside closed forms.
#include "plan/gas_line.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace leafwright {
namespace {

/// Unit step at 0, taken as straight over the grid interval about it.
GridSignal step_signal(double h) {
  GridSignal s{-1 - h / 2, h, {}};
  for (int k = 0; s.time(static_cast<std::size_t>(k)) < 40; ++k) {
    s.values.push_back(s.time(static_cast<std::size_t>(k)) > 0 ? 1 : 0);
  }
  return s;
}

/// Dead time d, then two mixed volumes a and b.
double two_mixers(double t, double d, double a, double b) {
  const double x = t - d;
  return x <= 0 ? 0 : 1 - (a * std::exp(-x / a) - b * std::exp(-x / b)) / (a - b);
}

double worst(double h) {
  GridSignal s = step_signal(h);
  mix_first_order(s, 3);
  mix_first_order(s, 1.2);
  double most = 0;
  for (double t = 3; t < 30; t += 0.37) {
    most = std::max(most, std::abs(s.at(t - 2.1) - two_mixers(t, 2.1, 3, 1.2)));
  }
  return most;
}

TEST(GasLine, DeadTimeAndTwoMixersAnswerAStepAsInTheTextbook) {
  EXPECT_LT(worst(0.05), 1e-4);
  // Second order: half the step, a quarter of the error.
  EXPECT_NEAR(worst(0.1) / worst(0.05), 4, 0.8);
}

TEST(GasLine, MixingOfARampIsExact) {
  GridSignal s{0, 0.5, {}};
  for (std::size_t k = 0; k < 200; ++k) s.values.push_back(3 * s.time(k));
  mix_first_order(s, 4);
  for (const double t : {0.5, 7.0, 60.0}) {
    EXPECT_NEAR(s.at(t), 3 * (t - 4 * (1 - std::exp(-t / 4))), 1e-10);
  }
}

TEST(GasLine, AveragingShiftsARampByWhereTheStampStands) {
  GridSignal s{0, 0.25, {}};
  for (std::size_t k = 0; k < 400; ++k) s.values.push_back(2 * s.time(k));
  const std::vector<double> times = {20, 30.1, 50};
  const auto shift = [&](Stamp stamp, std::size_t i) {
    return logged(s, 1.3, {4.5, stamp}, times)[i] / 2 - times[i];
  };
  for (std::size_t i = 0; i < times.size(); ++i) {
    EXPECT_NEAR(shift(Stamp::end, i), -1.3 - 2.25, 1e-9);
    EXPECT_NEAR(shift(Stamp::middle, i), -1.3, 1e-9);
    EXPECT_NEAR(shift(Stamp::start, i), -1.3 + 2.25, 1e-9);
  }
}

TEST(GasLine, TheMeanOfAParabolaIsItsIntegral) {
  GridSignal s{0, 0.01, {}};
  for (std::size_t k = 0; k < 3000; ++k) s.values.push_back(s.time(k) * s.time(k));
  const Averager averager(s);
  EXPECT_NEAR(averager.mean(4, 3), (343.0 - 64.0) / 9, 1e-4);
  EXPECT_NEAR(averager.mean(4.005, 0), 4.005 * 4.005, 1e-4);
  EXPECT_NEAR(averager.mean(-5, 3), 0, 1e-12);  // before the first point it is constant
}

}  // namespace
}  // namespace leafwright
