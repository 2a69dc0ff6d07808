// A leaf model fitted through the chamber's equation to the sample record itself:
//
//   n dC/dt = u Cin - (u + E s) C - A(Ci) s,   Ci = [(g - E/2) C - A]/(g + E/2)
//   S = C + off(C),   Cin(t) = R(t - d),   d = L - tau
//
// Unknown: the leaf's parameters, the lag L and the zero offset c0; L and c0 have priors from the
// empty record. Slope and curvature of the offset (c1, c2) are held at those of the empty record,
// and their errors are counted. No derivative and no filter of S, so no start is left out: the best
// use of a noisy record, and the one that needs tau best. A wrong leaf model shows in the residuals
// only.
#pragma once

#include <array>
#include <cstddef>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "leaf/c3.hpp"
#include "leaf/c4.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright {

/// A curve A(Ci) with parameters.
struct RampLeafModel {
  std::string name;                  ///< "C3", "C4"
  std::vector<std::string> symbols;  ///< of the parameters
  std::vector<double> start, lower, upper;
  std::function<double(double Ci, std::span<const double> parameters)> A;
};

/// Vcmax, J, TPU (where `leaf.TPU` is finite) and Rday (where `rday_free`), infinite gm.
RampLeafModel c3_ramp_model(const C3Leaf& leaf, const Kinetics& kinetics,
                            const Electrons& electrons, bool rday_free);
/// Vpmax, Vcmax (enzyme-limited, von Caemmerer 2000) and Rday (where free); `pressure` in kPa turns
/// Ci into Cm.
RampLeafModel c4_ramp_model(const C4Leaf& leaf, const C4Kinetics& kinetics, double pressure,
                            bool rday_free);

struct JointOptions {
  RampLeafModel model;
};

/// The chamber and the record on the times of S.
struct JointInput {
  std::vector<double> time_R, R, time, S;  ///< S as logged
  std::vector<char> use;                   ///< rows of S that are fitted
  std::vector<double> gain;                ///< k, mol m-2 s-1
  std::vector<double> dilution;
  std::vector<double> g_plus, g_minus;  ///< g +- E/2, mol m-2 s-1, to CO2 per the air of S
  double tau_s = 0;                     ///< n/u
  double lag_s = 0;
  std::vector<double> offset;                   ///< c0, c1, c2
  std::array<double, 16> path_covariance = {};  ///< of lag, c0, c1, c2, row by row
  double sd_R = 0, sd_S = 0, drift_sd = 0, drift_time_s = 400;
  double tau_error = 0;  ///< relative
};

struct JointParameter {
  std::string symbol, unit;
  double value = 0;
  double se = 0;           ///< noise of both cells, drift, path and tau; 0 where not identified
  bool identified = true;  ///< false: the parameter limits no row, and value is only its start
};

struct JointFit {
  std::string model;
  std::vector<JointParameter> parameters;  ///< of the leaf, then lag and c0
  double rmse = 0;                         ///< of S, umol mol-1
  int iterations = 0;
  bool converged = false;
  std::string stop;
  std::vector<double> A, C, Ci, residual;  ///< of the model, by row; residual = S - model
};

/// Fits. Errors: unfit, where least squares fails or too few rows are used.
Result<JointFit> fit_joint(const JointInput& input, const RampLeafModel& model);

}  // namespace leafwright
