// Records of the same air in both cells beside the gas path of an empty chamber: do they say the
// same of the cells, and if not, is it the leak of the gasket?
#pragma once

#include <array>
#include <vector>

#include "base/setting.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/record.hpp"

namespace leafwright {

/// `same-air`: files of such records, one CO2 that stands still in each.
SettingTable same_air_settings();

/// Compares. Notes, about: "same-air-agrees" (info), "cell-difference-contradicted" (warning, one a
/// level), "leak-told" (info: K and the CO2 round the gasket from the difference, where levels
/// reach over 50 umol mol-1), "same-air-not-compared" (why).
Notes compare_same_air(const GasPath& path, const std::vector<RampRecord>& levels);

}  // namespace leafwright
