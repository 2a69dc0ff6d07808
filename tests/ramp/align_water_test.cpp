// Are the water columns of the same moment as the recorded E? Records made for the purpose: E
// moves as a leaf's does, the columns hold it later by a known time.
#include "ramp/align_water.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "air/flux.hpp"

namespace leafwright {
namespace {

constexpr double area = 6, flow = 500;

/// E of a leaf whose stomata close and open again, mmol m-2 s-1.
double leaf_E(double t) {
  return 3 + 0.8 * std::sin(t / 45) + 0.3 * std::sin(t / 17);
}

/// The columns hold E `late` s later than E_recorded does; white noise `sd` on H2Os.
RampRecord record_of(double late, double sd, unsigned seed = 7) {
  std::mt19937 engine(seed);
  std::normal_distribution<double> noise(0, 1);
  RampRecord r;
  r.area = area;
  for (double t = 0; t < 400; t += 1) {
    const double E = leaf_E(t - late);
    // E = (u/s)(Ws - Wr)/(1 - Ws), solved for Ws (von Caemmerer & Farquhar 1981).
    const double k = flow / (100 * area), Wr = 12;
    const double Ws = (k * Wr + E) / (k + E / 1000);
    r.time_s.push_back(t);
    r.flow.push_back(flow);
    r.H2Or.push_back(Wr);
    r.H2Os.push_back(Ws + sd * noise(engine));
    r.E_recorded.push_back(leaf_E(t));
  }
  return r;
}

TEST(WaterAlignment, FindsHowMuchLaterTheColumnsAre) {
  for (const double late : {4.0, 9.0, 15.0}) {
    const WaterAlignment found = find_water_alignment(record_of(late, 0.01));
    ASSERT_EQ(found.found, WaterColumns::late) << late << " " << found.late_s;
    EXPECT_NEAR(found.late_s, late, 1);
    EXPECT_LE(found.late_low, late);
    EXPECT_GE(found.late_high, late);
    EXPECT_GT(found.misfit_as_is, 2 * found.misfit);
  }
}

TEST(WaterAlignment, ColumnsOfTheSameMomentAreLeftAlone) {
  const WaterAlignment found = find_water_alignment(record_of(0, 0.01));
  EXPECT_EQ(found.found, WaterColumns::aligned) << found.late_s;
}

TEST(WaterAlignment, TheBalanceOfItsOwnRowIsKnown) {
  RampRecord r = record_of(0, 0.01);
  for (std::size_t i = 0; i < r.size(); ++i) {
    r.E_recorded[i] = 0.98 * steady_E(r.flow[i], area, r.H2Or[i], r.H2Os[i]);  // another area
  }
  EXPECT_EQ(find_water_alignment(r).found, WaterColumns::same_row);
}

TEST(WaterAlignment, AnEThatHardlyMovesTellsNothing) {
  RampRecord r = record_of(9, 0.01);
  std::mt19937 engine(3);
  std::normal_distribution<double> noise(0, 1);
  for (std::size_t i = 0; i < r.size(); ++i) {
    r.H2Os[i] = 18 + 0.01 * noise(engine);
    r.E_recorded[i] = 5 + 0.02 * noise(engine);
  }
  EXPECT_EQ(find_water_alignment(r).found, WaterColumns::not_told);
}

TEST(WaterAlignment, WithoutARecordedENothingIsTold) {
  RampRecord r = record_of(9, 0.01);
  r.E_recorded.clear();
  EXPECT_EQ(find_water_alignment(r).found, WaterColumns::not_told);
}

}  // namespace
}  // namespace leafwright
