#include "leaf/kinetics.hpp"

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include <array>
#include <cmath>
#include <limits>

#include "leaf/response.hpp"

namespace leafwright {
namespace {

constexpr double lowest_tleaf = -10, highest_tleaf = 60;  // degC
constexpr double lowest_patm = 30, highest_patm = 120;    // kPa

// Sets stated in pressure units (Pa, ubar) are written as mole fractions at 100 kPa, where
// 1 ubar = 0.1 Pa = 1 umol mol-1, so that the published digits stand here unchanged.
constexpr double one_bar = 100;  // kPa

constexpr std::array<KineticsSet, 4> sets = {{
    {.name = "bernacchi-2001",
     .carbon_at = CarbonAt::Ci,
     .Kc = {404.9, 79.43},
     .Ko = {278.4, 36.38},
     .gamma_star = {42.75, 37.83},
     .O = 210,
     .pressure = 101.325,
     .citation = "Bernacchi, Singsaas, Pimentel, Portis & Long 2001, Plant, Cell & Environment "
                 "24:253 (tobacco, in vivo, Ci)",
     .standing = "looked up (as printed in a land-surface model's technical note)"},
    {.name = "bernacchi-2002",
     .carbon_at = CarbonAt::Cc,
     .Kc = {272.38, 80.99},
     .Ko = {165.82, 23.72},
     .gamma_star = {37.43, 24.46},
     .O = 210,
     .pressure = one_bar,
     .citation = "Bernacchi, Portis, Nakano, von Caemmerer & Long 2002, Plant Physiology 130:1992, "
                 "as tabled by Sharkey et al. 2007 (tobacco, in vivo, Cc)",
     .standing =
         "from memory (27.238 Pa, 16.582 kPa, 3.743 Pa; they agree with the published c and "
         "Ha to 0.05 %)"},
    {.name = "von-caemmerer-1994",
     .carbon_at = CarbonAt::Ci,
     .Kc = {404, 59.36},
     .Ko = {248, 35.94},
     .gamma_star = {36.9, 23.4},
     .O = 210,
     .pressure = one_bar,
     .citation = "von Caemmerer, Evans, Hudson & Andrews 1994, Planta 195:88, gm taken as infinite "
                 "(tobacco); activation energies of Kc and Ko after Badger & Collatz 1977",
     .standing =
         "from memory (Gamma* and its Ha; Kc, Ko and their Ha looked up in a forest model)"},
    {.name = "von-caemmerer-1994-gm-0.3",
     .carbon_at = CarbonAt::Cc,
     .Kc = {259, 59.36},
     .Ko = {179, 35.94},
     .gamma_star = {38.6, 23.4},
     .O = 210,
     .pressure = one_bar,
     .citation = "von Caemmerer, Evans, Hudson & Andrews 1994, Planta 195:88, gm 0.3 mol m-2 s-1 "
                 "bar-1 (tobacco); activation energies of Kc and Ko after Badger & Collatz 1977",
     .standing = "from memory (the Ha of Kc and Ko looked up in a forest model)"},
}};

constexpr const char* known_symbols = "Kc, Ko, O, GammaStar, Km";

std::optional<double>* slot(KineticOverrides& overrides, std::string_view symbol) {
  if (symbol == "Kc") return &overrides.Kc;
  if (symbol == "Ko") return &overrides.Ko;
  if (symbol == "O") return &overrides.O;
  if (symbol == "GammaStar") return &overrides.gamma_star;
  if (symbol == "Km") return &overrides.Km;
  return nullptr;
}

bool positive(const std::optional<double>& value) {
  return !value || (std::isfinite(*value) && *value > 0);
}

Result<void> check_arguments(double tleaf, double patm, const KineticOverrides& o) {
  // Written so that NaN fails too.
  if (!(tleaf >= lowest_tleaf && tleaf <= highest_tleaf))
    return fail(ErrorCode::unfit, fmt::format("leaf temperature is {} degC", tleaf),
                fmt::format("expected {} to {} degC", lowest_tleaf, highest_tleaf),
                "check the column Tleaf and its unit");
  if (!(patm >= lowest_patm && patm <= highest_patm))
    return fail(ErrorCode::unfit, fmt::format("air pressure is {} kPa", patm),
                fmt::format("expected {} to {} kPa", lowest_patm, highest_patm),
                "check the column Patm and its unit");
  if (!positive(o.Kc) || !positive(o.Ko) || !positive(o.O) || !positive(o.gamma_star) ||
      !positive(o.Km))
    return fail(ErrorCode::unfit, "a kinetic constant given by hand is not positive",
                "expected positive mole fractions at leaf temperature",
                fmt::format("check the values given for {}", known_symbols));
  return {};
}

}  // namespace

const char* basis_name(Basis basis) {
  return basis == Basis::partial_pressure ? "partial-pressure" : "mole-fraction";
}

const char* carbon_at_name(CarbonAt carbon_at) {
  return carbon_at == CarbonAt::Ci ? "Ci" : "Cc";
}

std::span<const KineticsSet> kinetics_sets() {
  return sets;
}

Result<const KineticsSet*> find_kinetics(std::string_view name) {
  std::string known;
  for (const KineticsSet& set : sets) {
    if (set.name == name) return &set;
    known += (known.empty() ? "" : ", ") + std::string(set.name);
  }
  return fail(ErrorCode::usage, fmt::format("no kinetics set is called '{}'", name),
              "expected one of " + known,
              "choose one of these, or give constants of your own by symbol");
}

Result<void> set_override(KineticOverrides& overrides, std::string_view assignment) {
  const std::size_t equals = assignment.find('=');
  if (equals == std::string_view::npos)
    return fail(ErrorCode::usage, fmt::format("'{}' has no '='", assignment),
                "expected SYMBOL=VALUE", "for example Kc=404.9");
  const std::string_view symbol = assignment.substr(0, equals);
  const std::string_view text = assignment.substr(equals + 1);
  std::optional<double>* target = slot(overrides, symbol);
  if (target == nullptr)
    return fail(ErrorCode::usage, fmt::format("no kinetic constant is called '{}'", symbol),
                fmt::format("expected one of {}", known_symbols),
                "Kc, GammaStar and Km are in umol mol-1, Ko and O in mmol mol-1");
  if (target->has_value())
    return fail(ErrorCode::usage, fmt::format("{} is given twice", symbol), "expected it once",
                "remove one of the two");
  double value = 0;
  const char* end = text.data() + text.size();
  const auto parsed = fast_float::from_chars(text.data(), end, value);
  if (parsed.ec != std::errc() || parsed.ptr != end || !std::isfinite(value) || value <= 0)
    return fail(ErrorCode::usage, fmt::format("{} is given as '{}'", symbol, text),
                "expected a positive number with a decimal point",
                "give it at leaf temperature, as a mole fraction");
  *target = value;
  return {};
}

Result<Kinetics> kinetics_at(const KineticsSet& set, double tleaf, double patm, Basis basis,
                             const KineticOverrides& overrides) {
  if (const auto checked = check_arguments(tleaf, patm, overrides); !checked)
    return fail(checked.error());
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double to_patm = basis == Basis::partial_pressure ? set.pressure / patm : 1.0;
  Kinetics k;
  k.O = overrides.O.value_or(set.O);
  k.gamma_star = overrides.gamma_star.value_or(set.gamma_star.at25 *
                                               arrhenius(set.gamma_star.Ha, tleaf) * (k.O / set.O));
  if (overrides.Km) {
    k.Kc = overrides.Kc.value_or(nan);
    k.Ko = overrides.Ko.value_or(nan);
    k.Km = *overrides.Km;
    return k;
  }
  k.Kc = overrides.Kc.value_or(set.Kc.at25 * arrhenius(set.Kc.Ha, tleaf) * to_patm);
  k.Ko = overrides.Ko.value_or(set.Ko.at25 * arrhenius(set.Ko.Ha, tleaf) * to_patm);
  k.Km = k.Kc * (1 + k.O / k.Ko);
  return k;
}

Result<Notes> check_gm_basis(const KineticsSet& set, bool gm_finite) {
  Notes notes;
  if (set.carbon_at == CarbonAt::Ci && gm_finite)
    return fail(ErrorCode::refused,
                fmt::format("the kinetics set '{}' was derived for Ci, and gm is finite", set.name),
                "expected a set derived for Cc: a Ci set already holds the drop from Ci to Cc, "
                "which would be counted twice",
                "choose a Cc set such as bernacchi-2002, or leave gm infinite");
  if (set.carbon_at == CarbonAt::Cc && !gm_finite)
    notes.push_back(
        {NoteLevel::warning, "cc-kinetics-without-gm",
         fmt::format("the kinetics set '{}' was derived for Cc, but gm is infinite, so Ci stands "
                     "in for Cc: Vcmax is an apparent value, too low by tens of percent where gm "
                     "is small; compare it only with values made the same way",
                     set.name)});
  return notes;
}

}  // namespace leafwright
