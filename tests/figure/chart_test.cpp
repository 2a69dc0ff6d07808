#include "figure/chart.hpp"

#include <gtest/gtest.h>

#include "figure_checks.hpp"
#include "fixtures.hpp"

namespace leafwright {
namespace {

using fixtures::check_figure;
using fixtures::has_text;

Chart simple_chart() {
  Panel panel;
  panel.x = {"Leaf temperature Tleaf", "degC", {}, {}, false};
  panel.y = {"Vcmax", "umol m-2 s-1", {}, {}, true};
  PointSeries series{"leaves", Ink::green, Shape::diamond, {}};
  for (std::size_t i = 0; i < 8; ++i) {
    const double t = 15 + 3 * static_cast<double>(i);
    series.marks.push_back({t, 20 + 2 * t, 15 + 2 * t, 25 + 2 * t, i, i + 2, "row"});
  }
  panel.points.push_back(series);
  panel.bands.push_back({"band", Ink::green, {{15, 40, 60}, {25, 60, 80}, {36, 80, 100}}});
  panel.lines.push_back({"line", Ink::ink, Dash::dashes, 1, true, "direct", {{15, 50}, {36, 92}}});
  panel.verticals.push_back({25, "25 °C", "reference"});
  panel.annotations.push_back({20, 60, "here"});
  Chart chart;
  chart.heading = "Response";
  chart.title = "A response";
  chart.desc = "Bars are 95 % intervals.";
  chart.panels = {panel};
  return chart;
}

TEST(Chart, DrawsEveryPart) {
  const auto all = check_figure(render_chart(simple_chart()).value());
  EXPECT_EQ(fixtures::with_attribute(all, "data-row").size(), 8U);
  EXPECT_EQ(fixtures::with_attribute(all, "data-line").size(), 8U);
  EXPECT_EQ(fixtures::with_attribute(all, "fill-opacity").size(), 1U);
  EXPECT_TRUE(has_text(all, "Leaf temperature Tleaf (°C)"));
  EXPECT_TRUE(has_text(all, "Vcmax (µmol\u00a0m⁻²\u00a0s⁻¹)"));
  EXPECT_TRUE(has_text(all, "25 °C"));
  EXPECT_TRUE(has_text(all, "direct"));
  EXPECT_TRUE(has_text(all, "here"));
  EXPECT_TRUE(has_text(all, "leaves"));
}

TEST(Chart, DirectLabelsDoNotCoverEachOther) {
  Chart chart = simple_chart();
  for (int i = 0; i < 6; ++i) {
    chart.panels[0].lines.push_back({"l" + std::to_string(i),
                                     Ink::blue,
                                     Dash::solid,
                                     0.75,
                                     true,
                                     "label " + std::to_string(i),
                                     {{15, 50.0 + i}, {36, 92}}});
    chart.panels[0].verticals.push_back({24.0 + 0.1 * i, "mark " + std::to_string(i), ""});
  }
  std::vector<fixtures::Extent> boxes;
  for (const auto& e : check_figure(render_chart(chart).value())) {
    if (e.get("paint-order") == "stroke") boxes.push_back(fixtures::text_extent(e));
  }
  ASSERT_GE(boxes.size(), 6U);
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      const bool apart = boxes[i].right <= boxes[k].left || boxes[k].right <= boxes[i].left ||
                         boxes[i].bottom <= boxes[k].top || boxes[k].bottom <= boxes[i].top;
      EXPECT_TRUE(apart) << i << " " << k;
    }
  }
}

TEST(Chart, TellsHowManyMarksAreNotDrawn) {
  Chart chart = simple_chart();
  chart.panels[0].points[0].marks[0].y = fixtures::nan;
  EXPECT_NE(render_chart(chart)->find("1 mark is not drawn"), std::string::npos);
  chart.panels[0].points[0].marks[1].x = fixtures::infinity;
  chart.panels[0].points[0].marks[2].y = -fixtures::infinity;
  const std::string svg = render_chart(chart).value();
  EXPECT_NE(svg.find("3 marks are not drawn"), std::string::npos);
  EXPECT_EQ(fixtures::with_attribute(check_figure(svg), "data-row").size(), 5U);
  EXPECT_EQ(render_chart(simple_chart())->find("not drawn"), std::string::npos);
}

TEST(Chart, KeepsLinesInsideGivenLimits) {
  Chart chart = simple_chart();
  chart.panels[0].x.low = 20, chart.panels[0].x.high = 30;
  chart.panels[0].y.low = 55, chart.panels[0].y.high = 75;
  chart.panels[0].lines[0].points = {{-1e30, -1e30}, {1e30, 1e30}, {fixtures::nan, 3}, {25, 1e300}};
  check_figure(render_chart(chart).value());
}

TEST(Chart, RefusesWhatItCannotLayOut) {
  Chart chart = simple_chart();
  chart.width_mm = 59;
  auto result = render_chart(chart);
  ASSERT_FALSE(result);
  EXPECT_EQ(result.error().code, ErrorCode::usage);
  EXPECT_EQ(result.error().text(), "a figure width of 59 mm; expected 60 to 400 mm");
  chart.width_mm = fixtures::nan;
  EXPECT_FALSE(render_chart(chart));
  chart.width_mm = 85;
  chart.block_width_mm = 50;
  EXPECT_FALSE(render_chart(chart));
  chart = simple_chart();
  chart.panels.clear();
  EXPECT_FALSE(render_chart(chart));
}

TEST(Chart, WritesATableThatDoesNotFitAsText) {
  Chart chart = simple_chart();
  const std::string wide(30, 'x');
  chart.block.table = {{"", "value", "interval"}, {"Vcmax", wide, wide}, {"J", wide, ""}};
  const auto all = check_figure(render_chart(chart).value());
  EXPECT_TRUE(has_text(all, "Vcmax: value"));
  EXPECT_TRUE(has_text(all, "J: value"));
}

TEST(Chart, EmptyPanelSaysSo) {
  Chart chart;
  chart.title = "t", chart.desc = "d";
  chart.panels.resize(1);
  chart.panels[0].empty_text = "no row";
  EXPECT_TRUE(has_text(check_figure(render_chart(chart).value()), "no row"));
}

}  // namespace
}  // namespace leafwright
