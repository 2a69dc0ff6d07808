// The source in closed form beside its defining equation and textbook responses.
#include "plan/source.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace leafwright {
namespace {

TEST(Source, StepIsAnExponential) {
  const Source source({{{0, 400, 0, 0}, {10, 100, 0, 0}}, 60, 2.0, 0, 10});
  EXPECT_DOUBLE_EQ(source.at(-5), 400);
  EXPECT_DOUBLE_EQ(source.at(10), 400);
  for (const double t : {10.5, 12.0, 20.0}) {
    EXPECT_NEAR(source.at(t), 100 + 300 * std::exp(-(t - 10) / 2), 1e-10);
  }
}

TEST(Source, ARampComesLateByItsTimeConstant) {
  SourceSettings s;
  s.start = 50;
  s.end = 1050;
  s.rate = 240;
  s.hold_before = 20;
  s.time_constant = 1.5;
  const Source source(source_programme(s).value());
  EXPECT_DOUBLE_EQ(source.length(), 20 + 250 + s.hold_after);
  EXPECT_NEAR(source.at(120), 50 + 4 * (100 - 1.5), 1e-9);
  EXPECT_NEAR(source.at(source.length()), 1050, 1e-9);
}

TEST(Source, BowStandsAboveTheChordInTheMiddle) {
  SourceSettings s;
  s.time_constant = 0;
  s.bow = 20;
  const Source source(source_programme(s).value());
  const double seconds = 60 * (s.end - s.start) / s.rate;
  EXPECT_NEAR(source.at(s.hold_before + seconds / 2), (s.start + s.end) / 2 + 20, 1e-9);
  EXPECT_NEAR(source.at(s.hold_before + seconds / 4), (3 * s.start + s.end) / 4 + 15, 1e-9);
  EXPECT_NEAR(source.at(s.hold_before + seconds), s.end, 1e-9);
}

TEST(Source, ThereAndBackReturnsToItsStart) {
  SourceSettings s;
  s.shape = SourceShape::there_and_back;
  const auto programme = source_programme(s).value();
  const double ramp = 60 * (s.end - s.start) / s.rate;
  EXPECT_NEAR(programme.length, s.hold_before + 2 * ramp + s.hold_turn + s.hold_after, 1e-9);
  const Source source(programme);
  EXPECT_NEAR(source.at(s.hold_before + ramp + s.hold_turn), s.end, 1e-6);
  EXPECT_NEAR(source.at(programme.length), s.start, 1e-6);
}

// tau y' + y = p, with p from the same source without a time constant.
TEST(Source, ObeysItsEquationEverywhere) {
  SourceSettings s;
  s.shape = SourceShape::there_and_back;
  s.bow = 35;
  s.ripple = 3;
  s.ripple_period = 7;
  s.time_constant = 1.2;
  const Source y(source_programme(s).value());
  s.time_constant = 0;
  const Source p(source_programme(s).value());
  const double h = 1e-4;
  for (double t = 1.234; t < y.length(); t += 3.21) {
    const double slope = (y.at(t + h) - y.at(t - h)) / (2 * h);
    EXPECT_NEAR(1.2 * slope + y.at(t), p.at(t), 1e-5) << t;
  }
}

TEST(Source, RippleIsDampedAndLate) {
  const double tau = 2, period = 10, w = 2 * std::numbers::pi / period;
  const Source source({{{0, 500, 0, 0}}, 60, tau, 4, period});
  double high = 0;
  for (double t = 20; t < 40; t += 0.01) high = std::max(high, source.at(t) - 500);
  EXPECT_NEAR(high, 4 / std::sqrt(1 + w * w * tau * tau), 1e-4);
}

TEST(Source, WhatCannotBeRunIsRefused) {
  const auto refused = [](auto change) {
    SourceSettings s;
    change(s);
    const auto programme = source_programme(s);
    return !programme && programme.error().code == ErrorCode::usage;
  };
  EXPECT_TRUE(refused([](SourceSettings& s) { s.rate = 0; }));
  EXPECT_TRUE(refused([](SourceSettings& s) { s.end = s.start; }));
  EXPECT_TRUE(refused([](SourceSettings& s) { s.end = -1; }));
  EXPECT_TRUE(refused([](SourceSettings& s) { s.shape = SourceShape::steps; }));
  EXPECT_TRUE(refused([](SourceSettings& s) { s.ripple_period = 0; }));
  EXPECT_TRUE(refused([](SourceSettings& s) {
    s.shape = SourceShape::hold;
    s.hold_before = 0;
  }));
  EXPECT_FALSE(refused([](SourceSettings&) {}));
}

}  // namespace
}  // namespace leafwright
