// Temperature responses of capacities, fitted to values at several leaf temperatures:
//   arrhenius  V = V25 exp[Ha/(R 298.15)(1 - 298.15/T)]
//   peaked     that, times (1 + exp((298.15 dS - Hd)/(298.15 R)))/(1 + exp((T dS - Hd)/(T R))),
//              Hd given (Medlyn et al. 2002, eqs 16-17); fitted in Ha and Topt, from which
//              dS = Hd/Topt + R ln[Ha/(Hd - Ha)]
//   optimum    V = Vopt exp[-((T - Topt)/Omega)^2] (June, Evans & Farquhar 2004, Funct. Plant Biol.
//              31:275, eq. 1; from memory)
// Fitted to ln V, as errors of capacities grow with them: unweighted, each leaf with its own level,
// so that curves of one leaf at several temperatures are not taken for leaves.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "fit/response_fit.hpp"

namespace leafwright {

enum class TemperatureForm { arrhenius, peaked, optimum };

struct TemperatureOptions {
  TemperatureForm form = TemperatureForm::arrhenius;
  double Hd = 200;         ///< kJ mol-1, peaked only
  std::vector<double> at;  ///< degC: values asked for
  bool c4 = false;         ///< published responses beside it are those of C4 leaves
};

/// Fits one group. `points`: x in degC, y > 0 in the parameter's unit. Estimates: V25 (or Vopt),
/// named after `of` ("Vcmax25"), Ha, Hd, dS, Topt, Omega as the form has them. Errors: unfit, for
/// fewer than 3 (arrhenius) or 4 distinct temperatures (more than 0.5 K apart), fewer rows than
/// parameters + 1, or a fit that does not converge.
Result<ResponseFit> fit_temperature(const std::string& of, const std::string& unit,
                                    const std::vector<ResponsePoint>& points,
                                    const TemperatureOptions& options);

/// "arrhenius", "peaked", "optimum". Error: usage, naming the three.
Result<TemperatureForm> find_temperature_form(std::string_view name);

}  // namespace leafwright
