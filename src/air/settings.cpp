#include "air/settings.hpp"

#include <string>
#include <vector>

#include "air/balance.hpp"
#include "air/conductance.hpp"
#include "air/flux.hpp"
#include "air/vapour.hpp"

namespace leafwright {

namespace {

constexpr const char* own = "the user's own";
constexpr const char* practice = "common practice, no source";

std::vector<std::string> form_names() {
  std::vector<std::string> names;
  for (const VapourPressureForm& form : vapour_pressure_forms()) names.emplace_back(form.name);
  return names;
}

Setting number(const char* name, const char* unit, double low, std::optional<double> high,
               const char* help, const char* source = own) {
  Setting setting;
  setting.name = name;
  setting.kind = SettingKind::number;
  setting.unit = unit;
  setting.low = low;
  setting.high = high;
  setting.help = help;
  setting.source = source;
  return setting;
}

Setting with_default(Setting setting, const char* value) {
  setting.default_value = value;
  return setting;
}

Setting choice(const char* name, std::vector<std::string> choices, const char* default_value,
               const char* help, const char* source) {
  Setting setting;
  setting.name = name;
  setting.kind = SettingKind::choice;
  setting.default_value = default_value;
  setting.choices = std::move(choices);
  setting.help = help;
  setting.source = source;
  return setting;
}

void add_physics(std::vector<Setting>& out) {
  out.push_back(choice("fluxes", {"mole-fractions", "recorded"}, "mole-fractions",
                       "E and A from the mole fractions before and behind the leaf, or as the log "
                       "recorded them (gsw, Ci and VPDleaf are recomputed either way)",
                       "docs/methods-air.md"));
  out.push_back(choice("vapour-pressure", form_names(), "leaf-common",
                       "form of the saturation vapour pressure", "docs/methods-air.md"));
  out.push_back(
      choice("enhancement",
             {enhancement_name(Enhancement::none), enhancement_name(Enhancement::buck_1981),
              enhancement_name(Enhancement::wmo_2008)},
             "none", "enhancement of the vapour pressure by moist air; leaf-common holds one",
             "docs/methods-air.md"));
  out.push_back(
      with_default(number("overpressure", "kPa", -5, 20, "pressure in the chamber above Patm",
                          "0: a chamber that is open to the air"),
                   "0"));
  out.push_back(choice("co2-per", {co2_per_name(Co2Per::moist_air), co2_per_name(Co2Per::dry_air)},
                       "moist air", "which air the CO2 columns count",
                       "Ely et al. 2021: CO2r and CO2s are in moist air"));
  out.push_back(
      number("gbw", "mmol m-2 s-1", 1, 100000, "boundary layer conductance to water of all rows"));
  out.push_back(choice("gbw-is", {gbw_is_name(GbwIs::per_side), gbw_is_name(GbwIs::whole_leaf)}, "",
                       "what gbw is: of one side, or of the whole leaf with the stomatal ratio "
                       "already in it; needed for gsw and Ci",
                       "no default: the two differ by up to a factor of two"));
  out.push_back(number("stomatal-ratio", "", 0, {},
                       "stomata of one side on those of the other, needed with a gbw per side; "
                       "0 where only one side has them",
                       "no default: it moves gsw and Ci"));
  out.push_back(choice("two-sides",
                       {two_sides_name(TwoSides::exact), two_sides_name(TwoSides::first_order)},
                       "exact", "how two unlike sides are put together", "docs/methods-air.md"));
}

void add_leaf(std::vector<Setting>& out) {
  out.push_back(number("area", "cm2", 0.001, 10000, "leaf area in the chamber, of all rows"));
  out.push_back(choice(
      "area-basis", {area_basis_name(AreaBasis::projected), area_basis_name(AreaBasis::half_total)},
      "", "what the stated area counts; only said in the results where it is given", own));
  out.push_back(choice(
      "flux-per", {area_basis_name(AreaBasis::projected), area_basis_name(AreaBasis::half_total)},
      "", "the area that fluxes are divided by, where it is not the stated one", own));
  out.push_back(number("half-total-ratio", "", 1, 10,
                       "half total on projected area, to change from one to the other"));
  out.push_back(with_default(number("cover", "", 0.001, 1, "share of the stated area that is leaf",
                                    "1: the stated area is the leaf's own"),
                             "1"));
  out.push_back(number("leak", "umol s-1", 0, {},
                       "leak coefficient K for CO2, per unit of mole fraction, measured on this "
                       "chamber",
                       "no default: gaskets differ by a factor (Rodeghiero et al. 2007)"));
  out.push_back(number("ambient-co2", "umol mol-1", 0, 100000,
                       "CO2 of the air round the chamber, needed with a leak", "no default"));
  out.push_back(
      number("water-leak", "umol s-1", 0, {}, "the same as leak for water", "no default"));
  out.push_back(number("ambient-h2o", "mmol mol-1", 0, 200,
                       "water of the air round the chamber, needed with a water leak",
                       "no default"));
}

void add_storage(std::vector<Setting>& out) {
  out.push_back(choice("storage", {"off", "on"}, "off",
                       "add what the chamber's air stores while it changes",
                       "off: records at steady state have none"));
  out.push_back(
      number("chamber-volume", "cm3", 0.1, 1000000, "volume of air that mixes in the chamber"));
  out.push_back(with_default(
      number(
          "storage-window", "s", 0.1, 3600,
          "length of the time over which a quadratic is laid to have the change of CO2s and H2Os",
          "about two time constants of a small chamber; no source"),
      "10"));
  out.push_back(with_default(number("steady-limit", "umol m-2 s-1", 0, {},
                                    "a row whose storage term is larger, while storage is off, is "
                                    "flagged as not steady",
                                    practice),
                             "0.5"));
}

void add_noise(std::vector<Setting>& out) {
  struct Noisy {
    const char* name;
    const char* unit;
    const char* help;
  };
  for (const Noisy& noisy :
       {Noisy{"co2r-sd", "umol mol-1", "standard deviation of CO2r in one row"},
        Noisy{"co2s-sd", "umol mol-1", "standard deviation of CO2s in one row"},
        Noisy{"h2or-sd", "mmol mol-1", "standard deviation of H2Or in one row"},
        Noisy{"h2os-sd", "mmol mol-1", "standard deviation of H2Os in one row"},
        Noisy{"flow-sd", "umol s-1", "standard deviation of flow"},
        Noisy{"area-sd", "cm2", "standard deviation of the leaf area"},
        Noisy{"tleaf-sd", "K", "standard deviation of Tleaf"},
        Noisy{"patm-sd", "kPa", "standard deviation of Patm"},
        Noisy{"gbw-sd", "mmol m-2 s-1", "standard deviation of gbw"}}) {
    out.push_back(number(noisy.name, noisy.unit, 0, {}, noisy.help));
  }
}

void add_flags(std::vector<Setting>& out) {
  out.push_back(number("coolest-wall", "degC", -20, 80,
                       "the coolest part that the chamber's air touches; without it the cooler of "
                       "Tair and Tleaf"));
  out.push_back(
      with_default(number("humid-limit", "%", 1, 100, "RHs above it is flagged", practice), "85"));
  out.push_back(with_default(number("ci-sd-limit", "umol mol-1", 0.001, {},
                                    "a standard deviation of Ci above it is flagged", practice),
                             "10"));
  out.push_back(with_default(
      number("gsw-in-sd", "", 0.1, 100, "gsw below so many of its standard deviations is flagged",
             "a convention: the linearised error is not to be trusted there"),
      "3"));
}

}  // namespace

SettingTable flux_settings() {
  static const std::vector<Setting> settings = [] {
    std::vector<Setting> out;
    add_physics(out);
    add_leaf(out);
    add_storage(out);
    add_noise(out);
    add_flags(out);
    return out;
  }();
  return settings;
}

}  // namespace leafwright
