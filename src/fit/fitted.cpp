#include "fit/fitted.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/smooth.hpp"
#include "leaf/c4.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace

const char* c4_plateau_name(C4Plateau plateau) {
  switch (plateau) {
    case C4Plateau::unnamed:
      return "unnamed";
    case C4Plateau::vcmax:
      return "vcmax";
    case C4Plateau::vpr:
      return "vpr";
    case C4Plateau::j:
      return "j";
  }
  return "unnamed";
}

const char* c4_state_name(C4State state) {
  return state == C4State::pep ? "pep" : "plateau";
}

std::vector<const Estimate*> estimates_of(const CurveFit& fit) {
  std::vector<const Estimate*> out;
  if (!fit.c4) out = {&fit.Vcmax, &fit.J, &fit.TPU, &fit.Rday};
  for (const Estimate& e : fit.more) out.push_back(&e);
  return out;
}

const Estimate* find_estimate(const CurveFit& fit, std::string_view symbol) {
  for (const Estimate* e : estimates_of(fit)) {
    if (e->symbol == symbol) return e;
  }
  return nullptr;
}

const char* row_state_name(const FittedRow& row) {
  return row.c4 ? c4_state_name(*row.c4) : limitation_name(row.state);
}

std::vector<std::string> limiting_states(const CurveFit& fit) {
  std::vector<std::string> out;
  if (!fit.c4) {
    for (const Limitation limitation : fit.limited_by)
      out.emplace_back(limitation_name(limitation));
    return out;
  }
  for (const C4State state : {C4State::pep, C4State::plateau}) {
    const bool any = std::any_of(fit.rows.begin(), fit.rows.end(),
                                 [&](const FittedRow& row) { return row.c4 == state; });
    if (any) out.emplace_back(c4_state_name(state));
  }
  return out;
}

std::vector<NamedTransition> transitions_of(const CurveFit& fit) {
  std::vector<NamedTransition> out;
  for (const Transition& t : fit.transitions) {
    out.push_back({limitation_name(t.from), limitation_name(t.to), t.Ci});
  }
  if (fit.c4 && fit.c4->transition) {
    out.push_back(
        {c4_state_name(C4State::pep), c4_state_name(C4State::plateau), *fit.c4->transition});
  }
  return out;
}

double fitted_rate(const CurveFit& fit, double Ci) {
  if (fit.c4) return c4_fitted_rate(*fit.c4, Ci);
  if (fit.theta) {
    return smooth_c3_rate(Ci, *fit.theta, fit.leaf, fit.kinetics, fit.electrons, fit.alpha);
  }
  if (fit.gm) {
    return c3_assimilation_gm(Ci, *fit.gm, fit.leaf, fit.kinetics, fit.electrons, fit.alpha).A;
  }
  return c3_assimilation(Ci, fit.leaf, fit.kinetics, fit.electrons, fit.alpha).A;
}

double c4_limited_rate(const C4Fitted& fitted, C4State state, double Ci) {
  const C4Kinetics& k = fitted.kinetics;
  const double C = Ci * fitted.bar, Rm = k.rm_share * fitted.Rday;
  if (state == C4State::pep) {
    if (!(fitted.Vpmax < infinity)) return infinity;
    return fitted.Vpmax * C / (C + k.Kp) + k.gbs * C - Rm;
  }
  if (!(fitted.top < infinity)) return infinity;
  if (fitted.plateau == C4Plateau::vpr) return fitted.top + k.gbs * C - Rm;
  if (fitted.plateau == C4Plateau::j) {
    return c4_light_limited(C, fitted.top, fitted.Rday, k).A;
  }
  return fitted.top - fitted.Rday;
}

double c4_fitted_rate(const C4Fitted& fitted, double Ci) {
  if (fitted.plateau == C4Plateau::vcmax && fitted.Vpmax < infinity) {
    const double C = Ci * fitted.bar, Vp = fitted.Vpmax * C / (C + fitted.kinetics.Kp);
    return c4_enzyme_limited(C, Vp, fitted.top, fitted.Rday, fitted.kinetics).A;
  }
  return std::min(c4_limited_rate(fitted, C4State::pep, Ci),
                  c4_limited_rate(fitted, C4State::plateau, Ci));
}

C4State c4_state_at(const C4Fitted& fitted, double Ci) {
  return c4_limited_rate(fitted, C4State::pep, Ci) <= c4_limited_rate(fitted, C4State::plateau, Ci)
             ? C4State::pep
             : C4State::plateau;
}

}  // namespace leafwright
