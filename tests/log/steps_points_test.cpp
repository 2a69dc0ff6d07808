#include "log/steps_points.hpp"

#include <gtest/gtest.h>

#include "log/logs.hpp"

namespace leafwright {
namespace {

TEST(PlateauLog, MeansOfTheEndOfEachHold) {
  std::string text = "time_s,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Tair,Patm,gbw\n";
  int t = 0;
  for (const int level : {400, 100, 400}) {
    for (int i = 0; i < 60; ++i, ++t) {
      // The sample cell is 10 below, and 5 further off in the first half minute; one row flickers.
      const double CO2s = level - 10 + (i < 30 ? 5 : 0) + (i % 2 == 0 ? 0.5 : -0.5);
      text += std::to_string(t) + "," + std::to_string(level) + "," + std::to_string(CO2s) +
              ",15,20,400,6,25,25,100,2500\n";
    }
  }
  const Log log = testing_logs::log_of(text);
  const TimeAxis axis = *time_axis(log);
  const Cut cut = *cut_log(log, axis, nullptr, {});
  FluxSource source{&log, &axis, &cut, nullptr, nullptr, nullptr};
  FluxChoice choice;
  choice.gbw_is = GbwIs::whole_leaf;
  const auto rows = flux_rows(source, choice);
  ASSERT_TRUE(rows);
  StepChoice step;
  step.window_s = 19;  // 20 rows
  const PlateauLog means = plateau_log(source, *rows, step);
  EXPECT_EQ(means.plateaus, 3U);
  const Log points = testing_logs::log_of(means.csv, "means.csv");
  ASSERT_EQ(points.rows(), 3U);
  EXPECT_DOUBLE_EQ(*points.value("CO2s", 0), 390);
  EXPECT_DOUBLE_EQ(*points.value("CO2s", 1), 90);
  EXPECT_DOUBLE_EQ(*points.value("time_s", 0), 49.5);
  const Table& table = points.table();
  const auto text_of = [&](const char* name, std::size_t row) {
    return std::string(table.text(*table.find(name), row));
  };
  EXPECT_EQ(text_of("rows", 0), "20");
  EXPECT_EQ(text_of("step_role", 0), "ambient");
  EXPECT_EQ(text_of("step_role", 1), "step");
  EXPECT_EQ(text_of("step_role", 2), "return");
  EXPECT_EQ(text_of("steady", 1), "1") << text_of("steady_why", 1);
}

}  // namespace
}  // namespace leafwright
