#include "log/physics_pool.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace leafwright {

double median_of(Series values) {
  values.erase(std::remove_if(values.begin(), values.end(), [](double v) { return std::isnan(v); }),
               values.end());
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::string_view role_symbol(Role role) {
  constexpr std::array<std::string_view, role_count> symbols = {"A",
                                                                "E",
                                                                "gsw",
                                                                "Ci",
                                                                "CO2r",
                                                                "CO2s",
                                                                "H2Or",
                                                                "H2Os",
                                                                "dCO2",
                                                                "dH2O",
                                                                "flow",
                                                                "area",
                                                                "Tleaf",
                                                                "Patm",
                                                                "gbw",
                                                                "chamber_overpressure",
                                                                "stomatal_ratio",
                                                                "VPDleaf",
                                                                "RHs",
                                                                "Tair"};
  return symbols[static_cast<std::size_t>(role)];
}

Pool::Pool(const Log& log) {
  for (std::size_t i = 0; i < role_count; ++i) {
    const Channel* channel = log.find(role_symbol(static_cast<Role>(i)));
    if (channel != nullptr) series_[i] = channel->values;
  }
}

}  // namespace leafwright
