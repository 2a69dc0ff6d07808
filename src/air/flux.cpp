#include "air/flux.hpp"

#include <fmt/format.h>

#include <cmath>
#include <initializer_list>

#include "air/balance.hpp"
#include "air/moist_air.hpp"
#include "air/shown.hpp"

namespace leafwright {
namespace {

struct Range {
  double low, high;
  const char* unit;
};
constexpr Range tleaf_range{-10, 60, "degC"};
constexpr Range tair_range{-20, 80, "degC"};
constexpr Range pressure_range{30, 130, "kPa"};
constexpr Range water_range{-100, 500, "mmol mol-1"};  // a unit taken wrongly, not a moist day

Result<void> within(const char* what, double value, const Range& range) {
  if (value >= range.low && value <= range.high) return {};
  return fail(ErrorCode::unfit, fmt::format("{} is {}", what, shown(value, range.unit)),
              fmt::format("expected {} to {} {}", range.low, range.high, range.unit),
              "check the column and its unit");
}

Result<void> above_zero(const char* what, double value, const char* unit) {
  if (value > 0 && std::isfinite(value)) return {};
  return fail(ErrorCode::unfit, fmt::format("{} is {}", what, shown(value, unit)),
              "expected a positive number", "check the column and its unit");
}

Result<void> finite(const char* what, double value) {
  if (std::isfinite(value)) return {};
  return fail(ErrorCode::unfit, fmt::format("{} is {}", what, shown(value)),
              "expected a finite number", "leave the row out, or fill the column");
}

Result<void> first_error(std::initializer_list<Result<void>> checks) {
  for (const Result<void>& check : checks)
    if (!check) return check;
  return {};
}

Result<void> check_air(const LeafAir& air, double pressure) {
  return first_error({finite("CO2s", air.CO2s), within("H2Os", air.H2Os, water_range),
                      within("Tleaf", air.Tleaf, tleaf_range),
                      within("Patm with the overpressure", pressure, pressure_range),
                      air.gbw ? above_zero("gbw", *air.gbw, "mmol m-2 s-1") : Result<void>{}});
}

Result<void> check_input(const FluxInput& in) {
  return first_error({above_zero("flow", in.flow, "umol s-1"), above_zero("area", in.area, "cm2"),
                      finite("CO2r", in.CO2r), within("H2Or", in.H2Or, water_range),
                      in.Tair ? within("Tair", *in.Tair, tair_range) : Result<void>{},
                      in.storage
                          ? above_zero("the volume of the chamber", in.storage->volume, "cm3")
                          : Result<void>{},
                      in.storage ? within("Tair", in.storage->Tair, tair_range) : Result<void>{},
                      in.storage ? finite("dCO2s/dt", in.storage->dCO2s_dt) : Result<void>{},
                      in.storage ? finite("dH2Os/dt", in.storage->dH2Os_dt) : Result<void>{}});
}

Result<void> check_leaks(const FluxOptions& options) {
  const auto fine = [](const auto& leak, double ambient) {
    return leak.K >= 0 && std::isfinite(leak.K) && std::isfinite(ambient);
  };
  const bool right =
      (!options.leak || fine(*options.leak, options.leak->CO2_ambient)) &&
      (!options.water_leak || fine(*options.water_leak, options.water_leak->H2O_ambient));
  if (right) return {};
  return fail(
      ErrorCode::usage,
      "a leak coefficient is negative or missing, or the air round the gasket is not stated",
      "expected K >= 0 in umol s-1 and the mole fraction of the air round the gasket",
      "measure K on this chamber with a dead leaf or none");
}

// The choices that stand for a stated gbw. Only after check_options.
BoundaryLayer layer_of(double gbw, const FluxOptions& options) {
  return {gbw, *options.gbw_is, options.stomatal_ratio.value_or(1), options.two_sides};
}

// CO2 at the far end of the conductance g (mmol m-2 s-1) that carries A against E.
double co2_behind(double g, double E, double A, double CO2) {
  const double half = E / 2000, mol = g / 1000;
  return ((mol - half) * CO2 - A) / (mol + half);
}

LeafState solve(double E, double A, const LeafAir& air, const FluxOptions& options) {
  const double P = air.Patm + options.overpressure;
  const double saturation =
      saturation_pressure(options.vapour_pressure, options.enhancement, air.Tleaf, P);
  const double wl = saturation / P, ws = air.H2Os / 1000;
  LeafState leaf;
  leaf.VPDleaf = saturation - ws * P;
  if (!(leaf.VPDleaf > 0)) {
    leaf.why = NoLeaf::vpd_not_positive;
    return leaf;
  }
  leaf.gtw = E * (1 - (wl + ws) / 2) / (wl - ws);
  if (!air.gbw) {
    leaf.why = NoLeaf::no_gbw;
    return leaf;
  }
  const BoundaryLayer layer = layer_of(*air.gbw, options);
  leaf.gsw = stomatal_conductance(*leaf.gtw, layer);
  if (!leaf.gsw) {
    leaf.why = NoLeaf::boundary_too_small;
    return leaf;
  }
  if (!(*leaf.gsw > 0)) {
    leaf.why = NoLeaf::gsw_not_positive;
    return leaf;
  }
  leaf.gtc = co2_conductance(*leaf.gsw, layer);
  leaf.Ci = co2_behind(*leaf.gtc, E, A, air.CO2s);
  leaf.CO2_surface = co2_behind(boundary_co2_conductance(*leaf.gsw, layer), E, A, air.CO2s);
  if (air.CO2s > 0) leaf.CiCa = *leaf.Ci / air.CO2s;
  leaf.WUEi = 1000 * A / *leaf.gsw;
  return leaf;
}

void add_storage(const FluxInput& in, const FluxOptions& options, FluxResult& out) {
  if (!in.storage) return;
  const Storage& s = *in.storage;
  const double N = moles_of_air(s.volume, s.Tair, in.Patm + options.overpressure);
  out.E_storage = storage_E(N, in.area, in.H2Os, s.dH2Os_dt);
  out.A_storage = options.co2_per == Co2Per::dry_air
                      ? storage_A_dry(N, in.area, s.dCO2s_dt, in.H2Os)
                      : storage_A(N, in.area, in.CO2s, s.dCO2s_dt, in.H2Os, s.dH2Os_dt);
}

}  // namespace

const char* co2_per_name(Co2Per per) {
  return per == Co2Per::moist_air ? "moist air" : "dry air";
}

Result<Co2Per> find_co2_per(std::string_view name) {
  for (const Co2Per per : {Co2Per::moist_air, Co2Per::dry_air})
    if (name == co2_per_name(per)) return per;
  return fail(ErrorCode::usage, fmt::format("co2_per is '{}'", name),
              "expected 'moist air' or 'dry air'",
              "dry air where the analyser has already taken the water out of the count");
}

const char* no_leaf_text(NoLeaf why) {
  switch (why) {
    case NoLeaf::none:
      return "";
    case NoLeaf::no_gbw:
      return "gbw is not given";
    case NoLeaf::vpd_not_positive:
      return "the leaf's air is not moister than the chamber's";
    case NoLeaf::boundary_too_small:
      return "E is more than the boundary layer lets through";
    case NoLeaf::gsw_not_positive:
      return "gsw is not positive";
  }
  return "";
}

Result<void> check_options(const FluxOptions& options, bool has_gbw) {
  if (auto fits = check_enhancement(options.vapour_pressure, options.enhancement); !fits)
    return fits;
  if (!std::isfinite(options.overpressure))
    return fail(ErrorCode::usage, "the overpressure is not a number", "expected kPa above Patm");
  if (has_gbw && !options.gbw_is)
    return fail(ErrorCode::usage, "gbw is given, but not what it is",
                "expected gbw_is = 'per side' or 'whole leaf'",
                "per side: of one side; whole leaf: the stomatal ratio is already in it");
  if (has_gbw && *options.gbw_is == GbwIs::per_side && !options.stomatal_ratio)
    return fail(ErrorCode::usage, "gbw is per side, but the stomatal ratio is not given",
                "expected the stomata of one side over those of the other",
                "0 where one side has none, 1 where both are alike");
  if (options.stomatal_ratio && !(*options.stomatal_ratio >= 0))
    return fail(ErrorCode::usage,
                fmt::format("the stomatal ratio is {}", shown(*options.stomatal_ratio)),
                "expected 0 or more", "0 where one side has none, 1 where both are alike");
  return check_leaks(options);
}

Result<LeafState> leaf_state(double E, double A, const LeafAir& air, const FluxOptions& options) {
  const auto fits = first_error({check_options(options, air.gbw.has_value()), finite("E", E),
                                 finite("A", A), check_air(air, air.Patm + options.overpressure)});
  if (!fits) return tl::make_unexpected(fits.error());
  return solve(E, A, air, options);
}

Result<FluxResult> flux(const FluxInput& in, const FluxOptions& options) {
  const bool dry = options.co2_per == Co2Per::dry_air;
  const LeafAir air{dry ? moist_fraction(in.CO2s, in.H2Os) : in.CO2s, in.H2Os, in.Tleaf, in.Patm,
                    in.gbw};
  const double P = in.Patm + options.overpressure;
  const auto fits =
      first_error({check_options(options, in.gbw.has_value()), check_input(in), check_air(air, P)});
  if (!fits) return tl::make_unexpected(fits.error());

  FluxResult out;
  out.CO2s_moist = air.CO2s;
  add_storage(in, options, out);
  if (options.leak)
    out.A_leak = leak_A(options.leak->K, in.area, air.CO2s, options.leak->CO2_ambient);
  if (options.water_leak)
    out.E_leak = leak_E(options.water_leak->K, in.area, in.H2Os, options.water_leak->H2O_ambient);
  out.E = steady_E(in.flow, in.area, in.H2Or, in.H2Os) + out.E_storage + out.E_leak;
  out.A = (dry ? steady_A_dry(in.flow, in.area, in.CO2r, in.CO2s, in.H2Or)
               : steady_A(in.flow, in.area, in.CO2r, in.CO2s, in.H2Or, in.H2Os)) +
          out.A_storage + out.A_leak;
  if (in.Tair)
    out.RHs = humidity_from_water(
        in.H2Os, saturation_pressure(options.vapour_pressure, options.enhancement, *in.Tair, P), P);
  out.leaf = solve(out.E, out.A, air, options);
  return out;
}

}  // namespace leafwright
