#include "air/balance.hpp"

#include <fmt/format.h>

#include <cmath>

#include "air/shown.hpp"

namespace leafwright {

double steady_E(double flow, double area, double H2Or, double H2Os) {
  return 10 * flow * (H2Os - H2Or) / (area * (1000 - H2Os));
}

double steady_A(double flow, double area, double CO2r, double CO2s, double H2Or, double H2Os) {
  return flow * (CO2r - CO2s * (1000 - H2Or) / (1000 - H2Os)) / (100 * area);
}

double steady_A_dry(double flow, double area, double CO2r, double CO2s, double H2Or) {
  return flow * (1 - H2Or / 1000) * (CO2r - CO2s) / (100 * area);
}

double storage_E(double moles, double area, double H2Os, double dH2Os_dt) {
  return 1e4 * moles * dH2Os_dt / (area * (1 - H2Os / 1000));
}

double storage_A(double moles, double area, double CO2s, double dCO2s_dt, double H2Os,
                 double dH2Os_dt) {
  return -1e4 * moles * (dCO2s_dt + CO2s * dH2Os_dt / (1000 - H2Os)) / area;
}

double storage_A_dry(double moles, double area, double dCO2s_dt, double H2Os) {
  return -1e4 * moles * (1 - H2Os / 1000) * dCO2s_dt / area;
}

double time_constant(double moles, double flow) {
  return 1e6 * moles / flow;
}

double leak_A(double K, double area, double CO2_chamber, double CO2_ambient) {
  return -K * (CO2_chamber - CO2_ambient) / (100 * area);
}

double leak_E(double K_water, double area, double H2O_chamber, double H2O_ambient) {
  return K_water * (H2O_chamber - H2O_ambient) / (100 * area);
}

const char* area_basis_name(AreaBasis basis) {
  return basis == AreaBasis::projected ? "projected" : "half total";
}

Result<AreaBasis> find_area_basis(std::string_view name) {
  for (const AreaBasis basis : {AreaBasis::projected, AreaBasis::half_total})
    if (name == area_basis_name(basis)) return basis;
  return fail(ErrorCode::usage, fmt::format("the basis of the leaf area is '{}'", name),
              "expected 'projected' or 'half total'",
              "they are the same for a flat leaf, and differ for needles");
}

Result<double> area_on(const LeafArea& leaf, AreaBasis basis) {
  if (!(leaf.cm2 > 0 && std::isfinite(leaf.cm2)))
    return fail(ErrorCode::usage, fmt::format("the leaf area is {}", shown(leaf.cm2, "cm2")),
                "expected a positive area", "check the area and its unit");
  if (!(leaf.cover > 0 && leaf.cover <= 1))
    return fail(ErrorCode::usage,
                fmt::format("the share of the area that is leaf is {}", shown(leaf.cover)),
                "expected a share above 0 and at most 1", "1 means that the area is all leaf");
  const auto& ratio = leaf.half_total_on_projected;
  if (ratio && !(*ratio >= 1 && std::isfinite(*ratio)))
    return fail(ErrorCode::usage,
                fmt::format("half total over projected area is {}", shown(*ratio)),
                "expected 1 (flat leaf) or more", "a cylinder has pi/2");
  const double covered = leaf.cm2 * leaf.cover;
  if (leaf.basis == basis) return covered;
  if (!ratio)
    return fail(ErrorCode::usage,
                fmt::format("the leaf area is {}, but {} is wanted", area_basis_name(leaf.basis),
                            area_basis_name(basis)),
                "expected the ratio of half total to projected area as well",
                "give the ratio (1 for a flat leaf, pi/2 for a cylinder), or keep the basis");
  return basis == AreaBasis::half_total ? covered * *ratio : covered / *ratio;
}

}  // namespace leafwright
