#include "air/flux.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "air/balance.hpp"
#include "air/moist_air.hpp"
#include "air/sample.hpp"

namespace leafwright {
namespace {

using air_test::forward;
using air_test::ForwardAir;
using air_test::ForwardLeaf;
using air_test::ordinary_options;
using air_test::ordinary_record;
using air_test::record_of;

void expect_back(const ForwardLeaf& leaf, const FluxOptions& options) {
  const ForwardAir air = forward(leaf);
  const auto result = flux(record_of(leaf, air), options);
  ASSERT_TRUE(result) << result.error().text();
  EXPECT_NEAR(result->E, 1e3 * air.E, 1e-9);
  EXPECT_NEAR(result->A, 1e6 * air.A, 1e-9);
  ASSERT_TRUE(result->leaf.Ci);
  EXPECT_NEAR(*result->leaf.gsw, 1e3 * leaf.gsw, 1e-7 * 1e3 * leaf.gsw);
  EXPECT_NEAR(*result->leaf.Ci, 1e6 * leaf.Ci, 1e-6);
}

TEST(Flux, FindsTheLeafThatMadeTheRecord) {
  for (const double gsw : {0.02, 0.25, 0.8})
    for (const double ratio : {0.0, 0.5, 1.0})
      for (const double Ci : {50e-6, 290e-6, 415e-6, 900e-6}) {
        ForwardLeaf leaf;
        leaf.gsw = gsw;
        leaf.ratio = ratio;
        leaf.Ci = Ci;
        FluxOptions options = ordinary_options();
        options.stomatal_ratio = ratio;
        expect_back(leaf, options);
      }
}

TEST(Flux, FindsTheLeafBehindLeaks) {
  ForwardLeaf leaf;
  leaf.area = 4e-4;
  leaf.c_in = 1500e-6;
  leaf.Ci = 1200e-6;
  leaf.leak = 0.4e-6;
  leaf.water_leak = 3e-6;
  FluxOptions options = ordinary_options();
  options.leak = Leak{0.4, 400};
  options.water_leak = WaterLeak{3, 12};
  expect_back(leaf, options);
  // Without the correction A reads too high and E too low.
  const ForwardAir air = forward(leaf);
  const auto blind = flux(record_of(leaf, air), ordinary_options());
  EXPECT_GT(blind->A, 1e6 * air.A + 0.5);
  EXPECT_LT(blind->E, 1e3 * air.E - 0.02);
}

TEST(Flux, MoistAndDryCO2AreTheSameRecord) {
  FluxInput moist = ordinary_record();
  moist.storage = Storage{70, 26, 1.7, 0.02};
  FluxInput dry = moist;
  dry.CO2r = dry_fraction(moist.CO2r, moist.H2Or);
  dry.CO2s = dry_fraction(moist.CO2s, moist.H2Os);
  // d/dt of c/(1 - w)
  const double w = moist.H2Os / 1000;
  dry.storage->dCO2s_dt = moist.storage->dCO2s_dt / (1 - w) +
                          moist.CO2s / (1 - w) / (1 - w) * moist.storage->dH2Os_dt / 1000;
  FluxOptions options = ordinary_options();
  options.leak = Leak{0.3, 410};
  const auto a = flux(moist, options);
  options.co2_per = Co2Per::dry_air;
  const auto b = flux(dry, options);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->A, b->A, 1e-11);
  EXPECT_EQ(a->E, b->E);
  EXPECT_NEAR(*a->leaf.Ci, *b->leaf.Ci, 1e-9);
  EXPECT_NEAR(b->CO2s_moist, moist.CO2s, 1e-10);
}

TEST(Flux, PutsBackIntoTheBalanceWithNothingLeft) {
  FluxInput in = ordinary_record();
  in.storage = Storage{70, 26, 1.7, 0.02};
  const auto r = flux(in, ordinary_options());
  ASSERT_TRUE(r);
  // mol s-1: what comes in, what the leaf gives, what goes out, what stays. Flow out and change of
  // content are unknown together, but one equation for all air ties them: out = in + sE - dN/dt;
  // any dN/dt must do.
  const double s = in.area * 1e-4, u = in.flow * 1e-6, w = in.H2Os * 1e-3, c = in.CO2s * 1e-6;
  const double N = 98.6e3 * 70e-6 / (8.314462618 * 299.15);
  for (const double dN : {0.0, 1e-6, -3e-6}) {
    const double out = u + s * r->E * 1e-3 - dN;
    const double water = u * in.H2Or * 1e-3 + s * r->E * 1e-3 - out * w - N * 2e-5 - w * dN;
    const double carbon = u * in.CO2r * 1e-6 - s * r->A * 1e-6 - out * c - N * 1.7e-6 - c * dN;
    EXPECT_NEAR(water, 0, 1e-18);
    EXPECT_NEAR(carbon, 0, 1e-20);
  }
}

TEST(Flux, AnEmptyChamberHasNoFluxOnAnyRamp) {
  // Well-mixed empty chamber fed with a straight ramp: c_o lags by tau and rises at the same rate.
  FluxInput in = ordinary_record();
  const double rate = 100.0 / 60;
  const double N = moles_of_air(80, 25, in.Patm + 0.1);
  in.H2Os = in.H2Or;
  in.CO2s = in.CO2r - rate * time_constant(N, in.flow);
  in.storage = Storage{80, 25, rate, 0};
  const auto r = flux(in, ordinary_options());
  ASSERT_TRUE(r);
  EXPECT_NEAR(r->A, 0, 1e-12);
  EXPECT_EQ(r->E, 0);
  EXPECT_GT(std::abs(r->A_storage), 5);
}

TEST(Flux, WithoutChangeTheStorageIsNothing) {
  FluxInput in = ordinary_record();
  const auto steady = flux(in, ordinary_options());
  in.storage = Storage{80, 25, 0, 0};
  const auto still = flux(in, ordinary_options());
  EXPECT_EQ(steady->A, still->A);
  EXPECT_EQ(steady->E, still->E);
}

TEST(Flux, CiAndSurfaceCO2CarryAThroughTheirConductances) {
  const auto r = flux(ordinary_record(), ordinary_options());
  ASSERT_TRUE(r);
  const LeafState& leaf = r->leaf;
  // A = g (c - c') - E (c + c')/2 along each piece of the way.
  const auto carried = [&](double g, double from, double to) {
    return g / 1000 * (from - to) - r->E / 1000 * (from + to) / 2;
  };
  EXPECT_NEAR(carried(*leaf.gtc, 402, *leaf.Ci), r->A, 1e-10);
  const double gbc = 1 / (1 / *leaf.gtc - 1.6 / *leaf.gsw);
  EXPECT_NEAR(carried(gbc, 402, *leaf.CO2_surface), r->A, 1e-9);
  EXPECT_LT(*leaf.Ci, *leaf.CO2_surface);
  EXPECT_LT(*leaf.CO2_surface, 402);
  EXPECT_EQ(*leaf.CiCa, *leaf.Ci / 402);
  EXPECT_NEAR(*leaf.WUEi, r->A / (*leaf.gsw / 1000), 1e-10);
  // E = gtw (w_l - w_s)/[1 - (w_l + w_s)/2]
  const double wl = (leaf.VPDleaf + 0.019 * 98.6) / 98.6;
  EXPECT_NEAR(*leaf.gtw * (wl - 0.019) / (1 - (wl + 0.019) / 2), r->E, 1e-12);
}

TEST(Flux, OverpressureActsAsPressureDoes) {
  FluxInput in = ordinary_record();
  const auto apart = flux(in, ordinary_options());
  FluxOptions none = ordinary_options();
  none.overpressure = 0;
  in.Patm += 0.1;
  const auto together = flux(in, none);
  EXPECT_NEAR(*apart->leaf.gsw, *together->leaf.gsw, 1e-9);
  EXPECT_NEAR(*apart->RHs, *together->RHs, 1e-12);
  in.Patm -= 0.1;
  EXPECT_GT(std::abs(*flux(in, none)->leaf.gsw - *apart->leaf.gsw), 0.1);
}

TEST(Flux, EnhancementActsOnTheLeafAndOnHumidity) {
  FluxOptions options = ordinary_options();
  options.vapour_pressure = VapourPressure::buck_1981;
  options.enhancement = Enhancement::buck_1981;
  const FluxInput in = ordinary_record();
  const auto r = flux(in, options);
  ASSERT_TRUE(r);
  const double f = 1.0007 + 3.46e-6 * 986, e = 0.019 * 98.6;  // 98.6 kPa with the overpressure
  const auto buck = [](double t) { return 0.61121 * std::exp(17.502 * t / (240.97 + t)); };
  EXPECT_NEAR(r->leaf.VPDleaf, f * buck(in.Tleaf) - e, 1e-12);
  EXPECT_NEAR(*r->RHs, 100 * e / (f * buck(*in.Tair)), 1e-10);
}

TEST(Flux, WithoutCO2ThereIsNoRatioToIt) {
  FluxInput in = ordinary_record();
  in.CO2r = 0;
  in.CO2s = 0;  // as an analyser may read in scrubbed air
  const auto r = flux(in, ordinary_options());
  ASSERT_TRUE(r && r->leaf.Ci);
  EXPECT_FALSE(r->leaf.CiCa);
}

TEST(Flux, FromFluxesIsTheSameLeaf) {
  const FluxInput in = ordinary_record();
  const auto r = flux(in, ordinary_options());
  const auto leaf =
      leaf_state(r->E, r->A, {in.CO2s, in.H2Os, in.Tleaf, in.Patm, in.gbw}, ordinary_options());
  ASSERT_TRUE(leaf);
  EXPECT_EQ(*leaf->Ci, *r->leaf.Ci);
  EXPECT_EQ(*leaf->gsw, *r->leaf.gsw);
}

TEST(Flux, WhatCannotBeKnownIsMissingWithItsReason) {
  FluxInput in = ordinary_record();
  in.gbw.reset();
  auto r = flux(in, FluxOptions{});
  ASSERT_TRUE(r);
  EXPECT_EQ(r->leaf.why, NoLeaf::no_gbw);
  EXPECT_TRUE(r->leaf.gtw);
  EXPECT_FALSE(r->leaf.gsw || r->leaf.Ci);

  in = ordinary_record();
  in.Tleaf = 10;
  r = flux(in, ordinary_options());
  EXPECT_EQ(r->leaf.why, NoLeaf::vpd_not_positive);
  EXPECT_LT(r->leaf.VPDleaf, 0);
  EXPECT_FALSE(r->leaf.gtw || r->leaf.gsw || r->leaf.Ci);

  in = ordinary_record();
  in.gbw = 100;
  r = flux(in, ordinary_options());
  EXPECT_EQ(r->leaf.why, NoLeaf::boundary_too_small);
  EXPECT_FALSE(r->leaf.gsw || r->leaf.Ci);

  in = ordinary_record();
  in.H2Or = in.H2Os + 0.01;
  r = flux(in, ordinary_options());
  EXPECT_EQ(r->leaf.why, NoLeaf::gsw_not_positive);
  EXPECT_LT(*r->leaf.gsw, 0);
  EXPECT_FALSE(r->leaf.Ci || r->leaf.WUEi);

  in = ordinary_record();
  in.Tair.reset();
  EXPECT_FALSE(flux(in, ordinary_options())->RHs);
}

ErrorCode code_of(const FluxInput& in, const FluxOptions& options = ordinary_options()) {
  const auto result = flux(in, options);
  return result ? ErrorCode::internal : result.error().code;
}

TEST(Flux, NumbersThatCannotBeAreErrors) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto with = [](auto change) {
    FluxInput in = ordinary_record();
    change(in);
    return code_of(in);
  };
  EXPECT_EQ(with([](FluxInput& i) { i.flow = 0; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.area = -1; }), ErrorCode::unfit);
  EXPECT_EQ(with([&](FluxInput& i) { i.CO2s = nan; }), ErrorCode::unfit);
  EXPECT_EQ(with([&](FluxInput& i) { i.CO2r = nan; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.H2Os = 1000; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.Tleaf = 300; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.Patm = 985; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.gbw = 0; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.Tair = 299; }), ErrorCode::unfit);
  EXPECT_EQ(with([](FluxInput& i) { i.storage = Storage{0, 25, 0, 0}; }), ErrorCode::unfit);
}

TEST(Flux, NothingIsTakenAsZeroThatWasNotGiven) {
  EXPECT_EQ(code_of(FluxInput{}), ErrorCode::unfit);
  for (double FluxInput::*number :
       {&FluxInput::flow, &FluxInput::area, &FluxInput::CO2r, &FluxInput::CO2s, &FluxInput::H2Or,
        &FluxInput::H2Os, &FluxInput::Tleaf, &FluxInput::Patm}) {
    FluxInput in = ordinary_record();
    in.*number = FluxInput{}.*number;
    const auto result = flux(in, ordinary_options());
    ASSERT_FALSE(result);
    EXPECT_EQ(result.error().code, ErrorCode::unfit);
    EXPECT_NE(result.error().text().find("is missing"), std::string::npos);
    EXPECT_EQ(result.error().text().find("nan"), std::string::npos) << result.error().text();
  }
  FluxInput in = ordinary_record();
  for (const Storage& half : {Storage{70}, Storage{70, 26}, Storage{70, 26, 1.7}}) {
    in.storage = half;
    EXPECT_EQ(code_of(in), ErrorCode::unfit);
  }
  FluxOptions options = ordinary_options();
  options.leak = Leak{0.4};  // without the air round the gasket
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  options = ordinary_options();
  options.water_leak = WaterLeak{3};
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  EXPECT_EQ(leaf_state(2, 10, LeafAir{}, ordinary_options()).error().code, ErrorCode::unfit);
}

TEST(Flux, NamesOfTheAirThatCO2IsCountedInGoBothWays) {
  for (const Co2Per per : {Co2Per::moist_air, Co2Per::dry_air})
    EXPECT_EQ(*find_co2_per(co2_per_name(per)), per);
  ASSERT_FALSE(find_co2_per("wet"));
  EXPECT_EQ(find_co2_per("wet").error().code, ErrorCode::usage);
}

TEST(Flux, ChoicesThatChangeResultsMustBeStated) {
  FluxOptions options = ordinary_options();
  options.gbw_is.reset();
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  options = ordinary_options();
  options.stomatal_ratio.reset();
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  options.gbw_is = GbwIs::whole_leaf;  // the ratio is then in it
  EXPECT_TRUE(flux(ordinary_record(), options));
  options.stomatal_ratio = -1;
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  options = ordinary_options();
  options.enhancement = Enhancement::buck_1981;
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
  options = ordinary_options();
  options.leak = Leak{-0.1, 400};
  EXPECT_EQ(code_of(ordinary_record(), options), ErrorCode::usage);
}

TEST(Area, CoverAndBasisAreTheUsersOwn) {
  EXPECT_EQ(*area_on({6, AreaBasis::projected}, AreaBasis::projected), 6);
  EXPECT_EQ(*area_on({6, AreaBasis::projected, 0.5}, AreaBasis::projected), 3);
  EXPECT_NEAR(*area_on({6, AreaBasis::projected, 1, 1.5}, AreaBasis::half_total), 9, 1e-12);
  EXPECT_NEAR(*area_on({9, AreaBasis::half_total, 1, 1.5}, AreaBasis::projected), 6, 1e-12);
  EXPECT_EQ(area_on({6, AreaBasis::projected}, AreaBasis::half_total).error().code,
            ErrorCode::usage);
  EXPECT_FALSE(area_on({6, AreaBasis::projected, 1.2}, AreaBasis::projected));
  EXPECT_FALSE(area_on({6, AreaBasis::projected, 0}, AreaBasis::projected));
  EXPECT_FALSE(area_on({0, AreaBasis::projected}, AreaBasis::projected));
  EXPECT_FALSE(area_on({6, AreaBasis::projected, 1, 0.9}, AreaBasis::projected));
  for (const AreaBasis basis : {AreaBasis::projected, AreaBasis::half_total})
    EXPECT_EQ(*find_area_basis(area_basis_name(basis)), basis);
  EXPECT_FALSE(find_area_basis("total"));
}

}  // namespace
}  // namespace leafwright
