#include "air/vapour.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <set>
#include <stdexcept>
#include <string>

namespace leafwright {
namespace {

TEST(VapourPressureForms, NamesGoBothWaysAndSayTheirStanding) {
  std::set<std::string_view> names;
  for (const VapourPressureForm& form : vapour_pressure_forms()) {
    EXPECT_EQ(*find_vapour_pressure(form.name), form.id);
    EXPECT_EQ(vapour_pressure_form(form.id).name, form.name);
    EXPECT_TRUE(form.standing.starts_with("looked up") || form.standing.starts_with("from memory"))
        << form.name;
    EXPECT_FALSE(form.citation.empty()) << form.name;
    EXPECT_LT(form.low, form.high) << form.name;
    names.insert(form.name);
  }
  EXPECT_EQ(names.size(), 9U);
  EXPECT_EQ(vapour_pressure_forms()[0].name, "leaf-common");
}

TEST(VapourPressureForms, AnUnknownNameIsAUsageErrorThatNamesAll) {
  const auto form = find_vapour_pressure("buck");
  ASSERT_FALSE(form);
  EXPECT_EQ(form.error().code, ErrorCode::usage);
  for (const VapourPressureForm& known : vapour_pressure_forms())
    EXPECT_NE(form.error().expected.find(known.name), std::string::npos) << known.name;
}

TEST(SaturationPressure, FormsRiseAndAgreeToOnePercentOverLeafTemperatures) {
  for (const VapourPressureForm& form : vapour_pressure_forms()) {
    double before = 0;
    for (double t = -10; t <= 50; t += 0.5) {
      const double e = saturation_pressure(form.id, t);
      EXPECT_GT(e, before) << form.name << " at " << t;
      before = e;
      if (t < 0) continue;
      EXPECT_NEAR(e / saturation_pressure(VapourPressure::iapws_1992, t), 1, 0.01) << form.name;
    }
  }
}

TEST(SaturationPressure, FixedPointsOfWater) {
  // 611.657 Pa at the triple point (Guildner et al. 1976, in SR1-86(1992)); 101.325 kPa at 373.1243
  // K.
  EXPECT_NEAR(saturation_pressure(VapourPressure::iapws_1992, 0.01), 0.611657, 1e-6);
  EXPECT_NEAR(saturation_pressure(VapourPressure::iapws_1992, 373.1243 - 273.15), 101.325, 1e-3);
  // The formulas of 1946 and 1957 are built on 1013.246 hPa at 373.16 K and on the triple point.
  EXPECT_NEAR(saturation_pressure(VapourPressure::goff_gratch_1946, 100.01), 101.3246, 1e-10);
  EXPECT_NEAR(saturation_pressure(VapourPressure::wmo_1957, 0.01), 0.1 * std::pow(10, 0.78614),
              1e-12);
}

TEST(SaturationPressure, OutsideItsReachIsTheCallersFault) {
  EXPECT_THROW(saturation_pressure(VapourPressure::leaf_common, -101), std::logic_error);
  EXPECT_THROW(saturation_pressure(VapourPressure::iapws_1992, 374), std::logic_error);
  EXPECT_THROW(saturation_pressure(VapourPressure::leaf_common, std::nan("")), std::logic_error);
}

TEST(DewPoint, UndoesSaturation) {
  for (const VapourPressureForm& form : vapour_pressure_forms())
    for (double t = -40; t <= 60; t += 1.25) {
      const auto dew = dew_point(form.id, saturation_pressure(form.id, t));
      ASSERT_TRUE(dew) << form.name << " at " << t;
      EXPECT_NEAR(*dew, t, 1e-9) << form.name;
    }
}

TEST(DewPoint, OfNoVapourIsAnError) {
  for (const double e : {0.0, -1.0, 1e6, std::nan("")}) {
    const auto dew = dew_point(VapourPressure::leaf_common, e);
    ASSERT_FALSE(dew);
    EXPECT_EQ(dew.error().code, ErrorCode::unfit);
  }
}

TEST(Enhancement, IsNotAppliedTwice) {
  EXPECT_FALSE(check_enhancement(VapourPressure::leaf_common, Enhancement::buck_1981));
  EXPECT_TRUE(check_enhancement(VapourPressure::leaf_common, Enhancement::none));
  EXPECT_TRUE(check_enhancement(VapourPressure::buck_1981, Enhancement::buck_1981));
  EXPECT_EQ(enhancement_factor(Enhancement::none, 90), 1);
  // leaf-common is Buck's form times a fixed 1.004 (to the five digits of 0.61365).
  EXPECT_NEAR(saturation_pressure(VapourPressure::leaf_common, 25) /
                  saturation_pressure(VapourPressure::buck_1981, 25),
              1.004, 1e-5);
  EXPECT_EQ(saturation_pressure(VapourPressure::buck_1981, Enhancement::wmo_2008, 20, 90),
            enhancement_factor(Enhancement::wmo_2008, 90) *
                saturation_pressure(VapourPressure::buck_1981, 20));
}

TEST(Enhancement, NamesGoBothWays) {
  for (const Enhancement e : {Enhancement::none, Enhancement::buck_1981, Enhancement::wmo_2008})
    EXPECT_EQ(*find_enhancement(enhancement_name(e)), e);
  ASSERT_FALSE(find_enhancement("some"));
  EXPECT_EQ(find_enhancement("some").error().code, ErrorCode::usage);
}

}  // namespace
}  // namespace leafwright
