#include "leaf/response.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <stdexcept>

namespace leafwright {
namespace {

constexpr double joule = 1000;                             // per kJ
constexpr double lowest_growth = 11, highest_growth = 35;  // degC

// Kattge & Knorr 2007, as functions of the growth temperature in degC.
constexpr GrowthResponse grown_at(double tgrowth) {
  return {.Vcmax = {71.513, 200, 668.39 - 1.07 * tgrowth},
          .J = {49.884, 200, 659.70 - 0.75 * tgrowth},
          .J_to_Vcmax = 2.59 - 0.035 * tgrowth};
}

constexpr ResponseSet kattge_knorr(std::string_view name, double tgrowth) {
  const GrowthResponse grown = grown_at(tgrowth);
  return {.name = name,
          .Vcmax = grown.Vcmax,
          .J = grown.J,
          .TPU = std::nullopt,
          .Rday = std::nullopt,
          .citation =
              "Kattge & Knorr 2007, Plant, Cell & Environment 30:1176 (36 species; "
              "published for Vcmax and Jmax), growth temperature in the name, degC",
          .standing = "looked up (as quoted in ecosystem model documentation)"};
}

constexpr std::array<ResponseSet, 12> sets = {{
    {.name = "bernacchi-2001",
     .Vcmax = Response{65.33},
     .J = Response{43.54},
     .TPU = std::nullopt,
     .Rday = Response{46.39},
     .citation = "Bernacchi, Singsaas, Pimentel, Portis & Long 2001, Plant, Cell & Environment "
                 "24:253 (tobacco); J: Jmax of Bernacchi, Pimentel & Long 2003, ibid. 26:1419",
     .standing = "looked up (as printed in a land-surface model's technical note)"},
    {.name = "sharkey-2007",
     .Vcmax = Response{65.33},
     .J = Response{43.9},
     .TPU = Response{53.1, 201.8, 650},
     .Rday = Response{46.39},
     .citation = "Sharkey, Bernacchi, Farquhar & Singsaas 2007, Plant, Cell & Environment 30:1035 "
                 "(TPU after Harley et al. 1992), normalised to 1 at 25 degC",
     .standing = "from memory (c and Ha agree with 1 at 25 degC to 0.05 %)"},
    {.name = "bonan-2011",
     .Vcmax = Response{65.33, 149.25, 485},
     .J = Response{43.54, 152.04, 495},
     .TPU = Response{65.33, 149.25, 485},
     .Rday = Response{46.39, 150.65, 490},
     .citation = "Bonan et al. 2011, Journal of Geophysical Research 116:G02014 (after Leuning "
                 "2002; TPU taken as Vcmax there; published for Jmax)",
     .standing = "looked up (as printed in a land-surface model's technical note)"},
    {.name = "leuning-2002",
     .Vcmax = Response{73.637, 149.252, 486},
     .J = Response{50.3, 152.044, 495},
     .TPU = std::nullopt,
     .Rday = std::nullopt,
     .citation = "Leuning 2002, Plant, Cell & Environment 25:1205 (published for Jmax)",
     .standing = "from memory"},
    {.name = "von-caemmerer-2000",
     .Vcmax = Response{58.52},
     .J = Response{37, 220, 710},
     .TPU = std::nullopt,
     .Rday = Response{66.4},
     .citation = "von Caemmerer 2000, Biochemical Models of Leaf Photosynthesis, CSIRO; J: Jmax of "
                 "Farquhar, von Caemmerer & Berry 1980, Planta 149:78",
     .standing = "from memory (Hd and dS of J looked up in a forest model)"},
    {.name = "walker-b-2013",
     .Vcmax = Response{41.4},
     .J = std::nullopt,
     .TPU = std::nullopt,
     .Rday = std::nullopt,
     .citation = "B. Walker et al. 2013, Plant, Cell & Environment 36:2108 (Arabidopsis), "
                 "normalised to 1 at 25 degC",
     .standing = "looked up (as quoted in a metabolic model)"},
    kattge_knorr("kattge-knorr-2007-tg11", 11),
    kattge_knorr("kattge-knorr-2007-tg15", 15),
    kattge_knorr("kattge-knorr-2007-tg20", 20),
    kattge_knorr("kattge-knorr-2007-tg25", 25),
    kattge_knorr("kattge-knorr-2007-tg30", 30),
    kattge_knorr("kattge-knorr-2007-tg35", 35),
}};

double deactivation(double Hd, double dS, double kelvin) {
  return 1 + std::exp((kelvin * dS - Hd * joule) / (gas_constant * kelvin));
}

}  // namespace

double arrhenius(double Ha, double tleaf) {
  const double kelvin = tleaf + zero_celsius;
  return std::exp(Ha * joule / (gas_constant * reference_temperature) *
                  (1 - reference_temperature / kelvin));
}

double peaked(double Ha, double Hd, double dS, double tleaf) {
  return arrhenius(Ha, tleaf) * deactivation(Hd, dS, reference_temperature) /
         deactivation(Hd, dS, tleaf + zero_celsius);
}

double peaked_optimum(double Ha, double Hd, double dS) {
  if (!(Ha > 0 && Hd > Ha)) throw std::logic_error("peaked_optimum: needs 0 < Ha < Hd");
  return Hd * joule / (dS - gas_constant * std::log(Ha / (Hd - Ha))) - zero_celsius;
}

double Response::factor(double tleaf) const {
  return Hd == 0 ? arrhenius(Ha, tleaf) : peaked(Ha, Hd, dS, tleaf);
}

const char* capacity_name(Capacity capacity) {
  switch (capacity) {
    case Capacity::Vcmax:
      return "Vcmax";
    case Capacity::J:
      return "J";
    case Capacity::TPU:
      return "TPU";
    case Capacity::Rday:
      return "Rday";
  }
  throw std::logic_error("capacity_name: no such capacity");
}

const std::optional<Response>& ResponseSet::of(Capacity capacity) const {
  switch (capacity) {
    case Capacity::Vcmax:
      return Vcmax;
    case Capacity::J:
      return J;
    case Capacity::TPU:
      return TPU;
    case Capacity::Rday:
      return Rday;
  }
  throw std::logic_error("ResponseSet::of: no such capacity");
}

std::span<const ResponseSet> response_sets() {
  return sets;
}

Result<const ResponseSet*> find_response(std::string_view name) {
  std::string known;
  for (const ResponseSet& set : sets) {
    if (set.name == name) return &set;
    known += (known.empty() ? "" : ", ") + std::string(set.name);
  }
  const bool growth_missing = name == "kattge-knorr-2007";
  return fail(ErrorCode::usage, fmt::format("no response set is called '{}'", name),
              "expected one of " + known,
              growth_missing
                  ? "that response depends on the temperature the leaves grew at: choose "
                    "the -tgNN nearest to it"
                  : "choose one of these");
}

Result<GrowthResponse> kattge_knorr_2007(double tgrowth) {
  if (!(tgrowth >= lowest_growth && tgrowth <= highest_growth))
    return fail(ErrorCode::usage, fmt::format("growth temperature is {} degC", tgrowth),
                fmt::format("expected {} to {} degC, the range of the plants behind Kattge & "
                            "Knorr 2007",
                            lowest_growth, highest_growth),
                "choose a response that does not depend on growth temperature");
  return grown_at(tgrowth);
}

}  // namespace leafwright
