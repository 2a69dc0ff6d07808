// Fitted curves with their labels -> pairs for a comparison of two methods, one leaf a pair. What
// `agree` and a study's [agree] have in common.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "fit/fit.hpp"
#include "report/agree_report.hpp"
#include "stats/agreement.hpp"

namespace leafwright {

/// What a comparison must know of a curve besides its numbers. Empty: not known.
struct CurveLabels {
  std::string leaf, plant, method;
  std::optional<double> order;
};

/// A curve with everything that became of it. Without `fit` its parameters were read from a file.
struct ComparedCurve {
  CurveLabels labels;
  MethodCurve curve;
  std::optional<CurveFit> fit;
};

/// A parameter as the comparison takes it: a value only where the data identify one.
MeasuredParameter compared_parameter(std::string symbol, std::string unit,
                                     const std::string& status, std::optional<double> value,
                                     std::optional<double> se, std::optional<double> low,
                                     std::optional<double> high);

/// The standard error of a value that was moved to 25 degC with its value.
std::optional<double> moved_se(std::optional<double> se, std::optional<double> value,
                               std::optional<double> moved);

/// Rows and parameters of a fit. `values` is "leaf" or "25".
MethodCurve compared_fit(const CurveFit& fit, const std::string& values);

/// A leaf that is no pair, and why. `lacks` is the method that it was not measured by, where that
/// is the reason.
struct NoPair {
  std::string leaf, why;
  std::optional<std::size_t> lacks;
};

/// The two methods of the column: those of --methods, else in order of appearance in `curves`.
/// Errors: usage, where a method of --methods has no curve, or there are not two.
Result<std::array<std::string, 2>> choose_methods(const Settings& agree, const std::string& column,
                                                  std::span<const ComparedCurve> curves);

/// Adds a pair for every leaf with one curve by either of `input.methods`; the other leaves come
/// back. Curves by other methods are passed over.
std::vector<NoPair> add_pairs(std::span<const ComparedCurve> curves, AgreementInput& input);

/// Marks the pairs of --exclude. Errors: usage, for a leaf that is not compared.
Result<void> exclude_pairs(const Settings& agree, AgreementInput& input);

/// The comparison with rows (`unmarked`) and leaves that were left out let in again; empty where
/// nothing was left out.
Result<std::optional<AgreementAgain>> compare_again(const AgreementInput& input,
                                                    const std::optional<AgreementInput>& unmarked,
                                                    AgreementRules rules);

}  // namespace leafwright
