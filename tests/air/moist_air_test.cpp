#include "air/moist_air.hpp"

#include <gtest/gtest.h>

#include "air/balance.hpp"
#include "quantity/unit.hpp"

namespace leafwright {
namespace {

TEST(Fractions, WetAndDryUndoEachOther) {
  for (const double W : {0.0, 5.0, 20.0, 60.0}) {
    EXPECT_NEAR(moist_fraction(dry_fraction(400, W), W), 400, 1e-12);
    EXPECT_NEAR(water_from_mixing_ratio(mixing_ratio_from_water(W)), W, 1e-12);
    // 1 mol of dry air with r mol of water: CO2 per moist air is that per dry air/(1 + r).
    const double r = mixing_ratio_from_water(W) / 1000;
    EXPECT_NEAR(moist_fraction(400, W), 400 / (1 + r), 1e-12);
  }
}

TEST(Humidity, UndoesItselfAndIsFullAtSaturation) {
  EXPECT_NEAR(humidity_from_water(water_from_humidity(63, 3.2, 98), 3.2, 98), 63, 1e-12);
  // Saturated air: the water fraction is e_s/P.
  EXPECT_NEAR(water_from_humidity(100, 3.2, 98), 1000 * 3.2 / 98, 1e-12);
}

TEST(Humidity, SpecificHumidityByCountingMoles) {
  // q kg of water in 1 kg of air: q/Mw moles of water, (1 - q)/Md of dry air.
  const double q = 0.012, Mw = 0.62198, Md = 1;
  const double w = (q / Mw) / (q / Mw + (1 - q) / Md);
  EXPECT_NEAR(vapour_pressure_from_specific_humidity(q, 95), w * 95, 1e-12);
  const double r = q / (1 - q);
  EXPECT_NEAR(vapour_pressure_from_mixing_ratio_by_mass(r, 95), w * 95, 1e-12);
}

TEST(Flow, NeedsItsReference) {
  // By the molar volume of an ideal gas, 22.41397 L/mol at 0 degC and 101.325 kPa (CODATA 2018).
  EXPECT_NEAR(molar_flow(500, 0, 101.325), 500e-3 / 60 / 22.41397 * 1e6, 1e-4);
  EXPECT_NEAR(molar_flow(500, 25, 101.325), 500e-3 / 60 / 24.46540 * 1e6, 1e-4);
  EXPECT_NEAR(flow_by_volume(molar_flow(500, 31, 87), 31, 87), 500, 1e-10);
}

TEST(Flow, AgreesWithTheUnitThatStatesItsReference) {
  const auto convert = conversion(known_unit("mL/min at 20 degC, 100 kPa"), known_unit("umol s-1"));
  ASSERT_TRUE(convert);
  EXPECT_NEAR((*convert)(730), molar_flow(730, 20, 100), 1e-10);
}

TEST(Chamber, ContentOverFlowIsTheTimeThatTheFlowNeedsToFillIt) {
  // At the chamber's own temperature and pressure: volume over volume flow.
  const double by_volume = 80 / (flow_by_volume(500, 25, 100) / 60);
  EXPECT_NEAR(time_constant(moles_of_air(80, 25, 100), 500), by_volume, 1e-12);
}

}  // namespace
}  // namespace leafwright
