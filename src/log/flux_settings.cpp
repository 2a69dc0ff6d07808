// Settings -> FluxChoice.
#include <array>

#include "log/flux.hpp"

namespace leafwright {

namespace {

std::optional<double> number(const Settings& settings, const char* name) {
  if (!settings.is_set(name)) return std::nullopt;
  return settings.number(name);
}

/// A number whose default must not stand above the log or the instrument.
std::optional<double> chosen(const Settings& settings, const char* name) {
  if (settings.origin(name) == SettingOrigin::default_value) return std::nullopt;
  return number(settings, name);
}

/// The value of a choice that `find` reads; the settings have checked the text.
template <class Find>
auto found(const Settings& settings, const char* name, Find find) {
  using Value = typename decltype(find(settings.text(name)))::value_type;
  std::optional<Value> out;
  if (!settings.is_set(name)) return out;
  if (const auto value = find(settings.text(name))) out = *value;
  return out;
}

template <class Find>
auto found_unless_default(const Settings& settings, const char* name, Find find) {
  auto out = found(settings, name, find);
  if (settings.origin(name) == SettingOrigin::default_value) out.reset();
  return out;
}

void take_noise(const Settings& flux, InputSd& sd) {
  for (const auto& [input, name] :
       {std::pair{NoisyInput::CO2r, "co2r-sd"}, std::pair{NoisyInput::CO2s, "co2s-sd"},
        std::pair{NoisyInput::H2Or, "h2or-sd"}, std::pair{NoisyInput::H2Os, "h2os-sd"},
        std::pair{NoisyInput::flow, "flow-sd"}, std::pair{NoisyInput::area, "area-sd"},
        std::pair{NoisyInput::Tleaf, "tleaf-sd"}, std::pair{NoisyInput::Patm, "patm-sd"},
        std::pair{NoisyInput::gbw, "gbw-sd"}}) {
    sd[input] = number(flux, name);
  }
}

}  // namespace

FluxChoice flux_choice(const Settings& flux, const Settings& points) {
  FluxChoice out;
  out.recorded = flux.text("fluxes") == "recorded";
  out.vapour_pressure = found_unless_default(flux, "vapour-pressure", find_vapour_pressure);
  out.enhancement = found(flux, "enhancement", find_enhancement).value_or(Enhancement::none);
  out.co2_per = found_unless_default(flux, "co2-per", find_co2_per);
  out.gbw_is = found(flux, "gbw-is", find_gbw_is);
  out.two_sides = found(flux, "two-sides", find_two_sides).value_or(TwoSides::exact);
  out.overpressure = chosen(flux, "overpressure");
  out.gbw = number(flux, "gbw");
  out.stomatal_ratio = number(flux, "stomatal-ratio");
  out.area = number(flux, "area");
  out.cover = chosen(flux, "cover");
  out.half_total_ratio = number(flux, "half-total-ratio");
  out.area_basis = found(flux, "area-basis", find_area_basis);
  out.flux_per = found(flux, "flux-per", find_area_basis);
  out.leak = number(flux, "leak");
  out.CO2_ambient = number(flux, "ambient-co2");
  out.water_leak = number(flux, "water-leak");
  out.H2O_ambient = number(flux, "ambient-h2o");
  if (points.is_set("tleaf")) out.Tleaf = points.number("tleaf");
  if (points.is_set("patm")) out.Patm = points.number("patm");
  out.storage = flux.text("storage") == "on";
  out.chamber_volume = number(flux, "chamber-volume");
  out.storage_window_s = flux.number("storage-window");
  out.steady_limit = flux.number("steady-limit");
  take_noise(flux, out.sd);
  out.flags.coolest_wall = number(flux, "coolest-wall");
  out.flags.rh = flux.number("humid-limit");
  out.flags.Ci_sd = flux.number("ci-sd-limit");
  out.flags.gsw_in_sd = flux.number("gsw-in-sd");
  return out;
}

}  // namespace leafwright
