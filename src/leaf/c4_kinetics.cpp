#include "leaf/c4_kinetics.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <stdexcept>
#include <string>

#include "base/number.hpp"
#include "leaf/response.hpp"

namespace leafwright {
namespace {

constexpr double lowest_tleaf = -10, highest_tleaf = 60;  // degC
constexpr double lowest_patm = 30, highest_patm = 120;    // kPa
constexpr double one_bar = 100;                           // kPa

constexpr std::array<C4KineticsSet, 3> sets = {{
    // gamma* = 0.5 (1/5.401)(1210/292000); its Ha = Ha(Kc) - Ha(Ko) - Ha(Vcmax/Vomax).
    {.name = "boyd-2015",
     .Kc = {1210, 64.2},
     .Ko = {292, 10.5},
     .Kp = {139, 36.3},
     .gamma_star = {0.5 / 5.401 * 1.210 / 292, 64.2 - 10.5 - 22.6},
     .O = 210,
     .citation = "Boyd, Gandin & Cousins 2015, Plant Physiology 169:1850 (Setaria viridis, in vivo "
                 "and in vitro)",
     .standing = "looked up (as coded in an open crop canopy model; the sign of the activation "
                 "energy of Vcmax/Vomax, 22.6 kJ mol-1, is inferred: it falls as the leaf warms "
                 "less than Kc/Ko rises)"},
    {.name = "von-caemmerer-2000",
     .Kc = {650, 59.36},
     .Ko = {450, 35.94},
     .Kp = {80, 36.3},
     .gamma_star = {1.93e-4, 23.4},
     .O = 210,
     .citation =
         "von Caemmerer 2000, Biochemical Models of Leaf Photosynthesis; activation "
         "energies of Kc, Ko, Kp as used for maize by Massad, Tuzet & Bethenod 2007, Plant, "
         "Cell & Environment 30:1191",
     .standing = "from memory (Kc, Ko, gamma* and its Ha, which is that of a C3 leaf; Kp and the "
                 "other Ha looked up in an open ecosystem model)"},
    {.name = "von-caemmerer-2021",
     .Kc = {1210, 64.2},
     .Ko = {292, 10.5},
     .Kp = {82, 36.3},
     .gamma_star = {0.5 / 1310, 64.2 - 10.5 - 22.6},
     .O = 210,
     .citation = "von Caemmerer 2021, Journal of Experimental Botany 72:6003; activation energies "
                 "of Boyd, Gandin & Cousins 2015",
     .standing = "from memory (values at 25 degC; activation energies looked up, see boyd-2015)"},
}};

constexpr std::array<C4ResponseSet, 2> responses = {{
    {.name = "boyd-2015",
     .Vpmax = Response{94.8, 0, 0},
     .Vcmax = Response{78.0, 0, 0},
     .J = {},
     .Rday = Response{46.39, 0, 0},
     .citation = "Boyd, Gandin & Cousins 2015, Plant Physiology 169:1850 (Setaria viridis)",
     .standing = "looked up (as coded in an open crop canopy model)"},
    {.name = "massad-2007",
     .Vpmax = Response{70.373, 117.91, 376},
     .Vcmax = Response{67.294, 144.568, 472},
     .J = Response{77.9, 191.929, 627},
     .Rday = {},
     .citation = "Massad, Tuzet & Bethenod 2007, Plant, Cell & Environment 30:1191 (maize)",
     .standing = "from memory (Hd and dS of Vpmax and J; the activation energies and those of "
                 "Vcmax looked up in an open ecosystem model)"},
}};

Result<void> check_range(double tleaf, double patm) {
  // Written so that NaN fails too.
  if (!(tleaf >= lowest_tleaf && tleaf <= highest_tleaf)) {
    return fail(ErrorCode::unfit, fmt::format("leaf temperature is {} degC", tleaf),
                fmt::format("expected {} to {} degC", lowest_tleaf, highest_tleaf),
                "check the column Tleaf and its unit");
  }
  if (!(patm >= lowest_patm && patm <= highest_patm)) {
    return fail(ErrorCode::unfit, fmt::format("air pressure is {} kPa", patm),
                fmt::format("expected {} to {} kPa", lowest_patm, highest_patm),
                "check the column Patm and its unit");
  }
  return {};
}

std::optional<double>* slot(C4Overrides& overrides, std::string_view symbol) {
  if (symbol == "Kc") return &overrides.Kc;
  if (symbol == "Ko") return &overrides.Ko;
  if (symbol == "Kp") return &overrides.Kp;
  if (symbol == "O") return &overrides.O;
  return nullptr;
}

}  // namespace

double c4_atp_factor(double fcyc) {
  if (!(fcyc >= 0 && fcyc < 1)) throw std::logic_error("c4_atp_factor: fcyc outside 0..1");
  return (3 - fcyc) / (4 * (1 - fcyc));
}

std::span<const C4KineticsSet> c4_kinetics_sets() {
  return sets;
}

Result<const C4KineticsSet*> find_c4_kinetics(std::string_view name) {
  std::string known;
  for (const C4KineticsSet& set : sets) {
    if (set.name == name) return &set;
    known += (known.empty() ? "" : ", ") + std::string(set.name);
  }
  return fail(ErrorCode::usage, fmt::format("no C4 kinetics set is called '{}'", name),
              "one of " + known,
              find_kinetics(name) ? "that set is for C3 leaves: they have no PEP carboxylase step"
                                  : "choose one of these");
}

std::span<const C4ResponseSet> c4_response_sets() {
  return responses;
}

Result<const C4ResponseSet*> find_c4_response(std::string_view name) {
  std::string known;
  for (const C4ResponseSet& set : responses) {
    if (set.name == name) return &set;
    known += (known.empty() ? "" : ", ") + std::string(set.name);
  }
  return fail(ErrorCode::usage, fmt::format("no C4 response set is called '{}'", name),
              "none, or one of " + known);
}

Result<void> set_c4_override(C4Overrides& overrides, std::string_view assignment) {
  constexpr const char* expected = "SYMBOL=VALUE with Kc, Kp (umol mol-1), Ko or O (mmol mol-1)";
  const std::size_t equals = assignment.find('=');
  if (equals == std::string_view::npos) {
    return fail(ErrorCode::usage, fmt::format("'{}' has no '='", assignment), expected);
  }
  const std::string_view symbol = assignment.substr(0, equals);
  std::optional<double>* target = slot(overrides, symbol);
  if (target == nullptr) {
    return fail(ErrorCode::usage, fmt::format("'{}' is no constant of the C4 model here", symbol),
                expected);
  }
  if (target->has_value()) {
    return fail(ErrorCode::usage, fmt::format("{} is given twice", symbol), "it once");
  }
  const auto number = parse_number(std::string(assignment.substr(equals + 1)));
  if (!number || !(*number > 0) || !std::isfinite(*number)) {
    return fail(ErrorCode::usage,
                fmt::format("{} is given as '{}'", symbol, assignment.substr(equals + 1)),
                "a positive number, at leaf temperature, as a mole fraction");
  }
  *target = *number;
  return {};
}

Result<C4Kinetics> c4_kinetics_at(const C4KineticsSet& set, double tleaf, double patm, Basis basis,
                                  const C4Overrides& overrides) {
  if (auto ok = check_range(tleaf, patm); !ok) return fail(ok.error());
  const double bar = patm / one_bar;
  const double kept = basis == Basis::partial_pressure ? 1 : bar;
  const auto at = [&](const C4Constant& c) { return c.at25 * arrhenius(c.Ha, tleaf); };
  const auto given = [&](const std::optional<double>& own, double otherwise) {
    return own ? *own * bar : otherwise;
  };
  C4Kinetics k;
  k.Kc = given(overrides.Kc, kept * at(set.Kc));
  k.Ko = given(overrides.Ko, kept * at(set.Ko));
  k.Kp = given(overrides.Kp, kept * at(set.Kp));
  k.gamma_star = at(set.gamma_star);
  k.O = given(overrides.O, bar * set.O);
  return k;
}

}  // namespace leafwright
