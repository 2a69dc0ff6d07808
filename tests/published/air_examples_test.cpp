// Worked examples of humid air and fluxes, from data/reference/10 (standing in the column
// `looked_up` of each row, printed on failure). EX01-EX03 are published figures, the others are
// constructed or computed independently.
#include <gtest/gtest.h>

#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "air/balance.hpp"
#include "air/flux.hpp"
#include "air/moist_air.hpp"
#include "air/vapour.hpp"
#include "leaf/c3.hpp"
#include "leaf/kinetics.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

std::string what(const ReferenceRow& row) {
  return row.quantity.substr(row.quantity.find(' ') + 1);
}

// A stated number is known to half a unit of its last digit, whatever the tolerance of the example.
void expect_close(double value, const ReferenceRow& row, double relative) {
  EXPECT_NEAR(value, row.number(), relative * std::abs(row.number()) + row.half_unit())
      << row.where();
}

void expect_relative(double value, const ReferenceRow& row, double relative) {
  EXPECT_NEAR(value / row.number(), 1, relative) << row.where();
}

double megapascal(VapourPressure form, const ReferenceRow& row) {
  return saturation_pressure(form, number_after(row.condition, "T=") - 273.15) / 1000;
}

TEST(WorkedExamplesOfAir, EX01SaturationByIF97) {
  const auto rows = example("EX01");
  ASSERT_EQ(rows.size(), 3U);
  for (const ReferenceRow& row : rows)
    expect_relative(megapascal(VapourPressure::iapws_if97, row), row, 1e-8);
}

TEST(WorkedExamplesOfAir, EX02SaturationByThe1992Equation) {
  // 1e-8 is for IAPWS-95 itself, which is not here. The 1992 equation is stated to be 2.2e-5 low at
  // 275 K, to give 0.69843586e-3 there, and so to pass 3e-5; held to that at all three.
  const auto rows = example("EX02");
  ASSERT_EQ(rows.size(), 3U);
  for (const ReferenceRow& row : rows)
    expect_relative(megapascal(VapourPressure::iapws_1992, row), row, 3e-5);
  EXPECT_NEAR(megapascal(VapourPressure::iapws_1992, rows[0]), 0.69843586e-3, 0.5e-11);
}

TEST(WorkedExamplesOfAir, EX03HumidityByWmo2008) {
  const auto rows = example("EX03");
  ASSERT_EQ(rows.size(), 2U);  // as published, and as recomputed with fewer digits
  // The example puts its q into the equation for the mixing ratio, as WMO-No. 8 abridges it.
  const double e = vapour_pressure_from_mixing_ratio_by_mass(0.001, 100);
  const double full = saturation_pressure(VapourPressure::wmo_2008, Enhancement::wmo_2008, 10, 100);
  for (const ReferenceRow& row : rows)
    EXPECT_NEAR(humidity_from_water(1000 * e / 100, full, 100), row.number(), 1e-9) << row.where();
}

FluxInput record_of_ex09() {
  FluxInput in;
  in.flow = 500;
  in.area = 6;
  in.CO2r = 400;
  in.CO2s = 385;
  in.H2Or = 10;
  in.H2Os = 18;
  in.Tleaf = 25;
  in.Patm = 100;
  in.gbw = 3000;
  return in;
}

FluxOptions options_of_ex09() {
  FluxOptions options;
  options.gbw_is = GbwIs::per_side;
  options.stomatal_ratio = 1;
  return options;
}

TEST(WorkedExamplesOfAir, EX09SteadyFluxes) {
  const auto rows = example("EX09");
  ASSERT_EQ(rows.size(), 11U);
  const FluxInput in = record_of_ex09();
  for (const TwoSides form : {TwoSides::exact, TwoSides::first_order}) {
    FluxOptions options = options_of_ex09();
    options.two_sides = form;
    const auto r = flux(in, options);
    ASSERT_TRUE(r);
    const double gtc = *r->leaf.gtc / 1000;
    const std::map<std::string, double> values = {
        {"E", r->E},
        {"A", r->A},
        {"A by (u/s)(ci-co)-E*co", 500 * 15 / 600.0 - r->E / 1000 * 385},
        {"e_s", r->leaf.VPDleaf + 1.8},
        {"gtw", *r->leaf.gtw / 1000},
        {"kf", boundary_share(1)},
        {"gsw", *r->leaf.gsw / 1000},
        {"gtc", gtc},
        {"Ci", *r->leaf.Ci},
        {"Ci without transpiration term", 385 - r->A / gtc},
        {"A without dilution term", steady_A(500, 6, 400, 385, 0, 0)}};
    for (const ReferenceRow& row : rows) expect_close(values.at(what(row)), row, 1e-6);
  }
}

TEST(WorkedExamplesOfAir, EX10OtherFormsOfVapourPressure) {
  const auto rows = example("EX10");
  ASSERT_EQ(rows.size(), 8U);
  struct Choice {
    VapourPressure form;
    Enhancement enhancement;
  };
  const std::map<std::string, Choice> choices = {
      {"IAPWS 1992, no enhancement", {VapourPressure::iapws_1992, Enhancement::none}},
      {"WMO Goff, no enhancement", {VapourPressure::wmo_1957, Enhancement::none}},
      {"WMO CIMO x f(1000)", {VapourPressure::wmo_2008, Enhancement::wmo_2008}},
      {"IAPWS 1992 x Buck f(1000)", {VapourPressure::iapws_1992, Enhancement::buck_1981}}};
  for (const ReferenceRow& row : rows) {
    const std::string marker = "if e_s is ";
    const Choice& choice =
        choices.at(row.quantity.substr(row.quantity.find(marker) + marker.size()));
    FluxOptions options = options_of_ex09();
    options.vapour_pressure = choice.form;
    options.enhancement = choice.enhancement;
    const auto r = flux(record_of_ex09(), options);
    ASSERT_TRUE(r);
    expect_close(what(row).starts_with("gsw") ? *r->leaf.gsw / 1000 : *r->leaf.Ci, row, 1e-6);
  }
}

TEST(WorkedExamplesOfAir, EX11StorageTerms) {
  const auto rows = example("EX11");
  ASSERT_EQ(rows.size(), 3U);
  FluxInput in = record_of_ex09();
  const double steady = flux(in, options_of_ex09())->A;
  // The example has its N from R = 8.314 (3.227343e-3 mol in file 02; the condition here drops a
  // digit): the volume that makes the same N.
  const double volume = 80 * 8.314462618 / 8.314;
  in.storage = Storage{volume, 25, 100.0 / 60, 2e-3};
  const auto r = flux(in, options_of_ex09());
  ASSERT_TRUE(r);
  const std::map<std::string, double> values = {
      {"E dynamic", r->E},
      {"A dynamic", r->A},
      {"A steady-state formula with dynamic data", steady}};
  for (const ReferenceRow& row : rows) expect_close(values.at(what(row)), row, 1e-6);
}

TEST(WorkedExamplesOfAir, EX12Leak) {
  const auto rows = example("EX12");
  ASSERT_EQ(rows.size(), 1U);
  EXPECT_NEAR(20 + leak_A(0.40, 6, 1900, 400), rows[0].number(), 1e-14) << rows[0].where();
}

TEST(WorkedExamplesOfAir, EX18StomatalLimitation) {
  // 1 - A(Ci)/A(Ci = Ca) of Farquhar & Sharkey 1982, by the demand curve of EX13.
  const auto rows = example("EX18");
  ASSERT_EQ(rows.size(), 1U);
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
  const C3Leaf leaf{80, 150, 10, 1.2};
  const double operating = c3_assimilation(280, leaf, k).A, open = c3_assimilation(400, leaf, k).A;
  EXPECT_NEAR(operating, 17.96552, 0.5e-5);
  EXPECT_NEAR(open, 24.54032, 0.5e-5);
  expect_close(1 - operating / open, rows[0], 1e-6);
}

}  // namespace
}  // namespace leafwright::published
