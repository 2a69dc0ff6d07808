// Empirical A-Ci curves, for both pathways: what a curve looks like without a model of the leaf.
//
//   hyperbola    theta g^2 - (s C + Am) g + s C Am = 0, smaller root g; A = g - Rday
//                (non-rectangular hyperbola, Thornley 1976, from memory; s initial slope)
//   exponential  A = Asat (1 - exp(-k (C - c0))), c0 the compensation point
//                (asymptotic offset curve, as fitted to grass by Potvin, Lechowicz & Tardif 1990)
//
// Told: the initial slope (at the compensation point for the exponential, at C = 0 for the
// hyperbola), the CO2-saturated net rate Asat, the compensation point, and the Ci at which A
// reaches 90 and 95 % of Asat. Parameters have 95 % profile intervals, what follows from them
// linearised ones (t). Found by general least squares from several starts; not certified.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "fit/response_fit.hpp"

namespace leafwright {

enum class EmpiricalForm { none, hyperbola, exponential };
const char* empirical_form_name(EmpiricalForm form);  ///< "none", "hyperbola", "exponential"

struct EmpiricalFit {
  EmpiricalForm form = EmpiricalForm::none;
  std::string equation;
  std::vector<double> parameters;  ///< hyperbola: s, Am, theta, Rday; exponential: Asat, ln k, c0
  std::vector<ResponseEstimate> estimates;
  double ssr = 0;
  std::ptrdiff_t df = 0;
  Notes notes;
};

/// A at C of a fitted curve.
double empirical_rate(const EmpiricalFit& fit, double C);

/// Errors: unfit, for fewer rows at distinct C than parameters, values that are not finite, or
/// where no start converges.
Result<EmpiricalFit> fit_empirical(std::span<const double> C, std::span<const double> A,
                                   EmpiricalForm form);

}  // namespace leafwright
