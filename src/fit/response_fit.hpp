// Responses fitted to a few values: what the fits to temperature, light and stomata have in common.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "numeric/least_squares.hpp"

namespace leafwright {

/// One value of the response, with where it came from.
struct ResponsePoint {
  double x = 0;  ///< degC, umol m-2 s-1 of light, or the index of a stomatal model
  double y = 0;
  std::string leaf;  ///< values of one leaf share their level; "" where leaves are not told apart
  std::size_t row = 0;
  Place place;
};

/// A row that took no part, and why.
struct ResponseExclusion {
  Place place;
  std::string why;
};

/// An estimate with its 95 % interval; an end that is missing is open.
struct ResponseEstimate {
  std::string symbol, unit;
  std::optional<double> value;  ///< empty where the data give a bound or nothing
  std::optional<double> se, low, high;
  /// "estimated", "fixed", "lower bound", "upper bound", "not identified"
  std::string status = "estimated";
};

struct ResponseCurvePoint {
  double x = 0, y = 0;
  std::optional<double> low, high;  ///< 95 % of the curve, linearised
};

struct ResponseFit {
  std::string group;     ///< "" where there are no groups
  std::string of;        ///< the parameter: "Vcmax", "A", "gsw"
  std::string form;      ///< "arrhenius", "peaked", "optimum", "hyperbola", "medlyn", ...
  std::string equation;  ///< for people
  std::string source;    ///< author, year, and whether it was looked up
  std::vector<ResponsePoint> points;
  std::vector<ResponseExclusion> excluded;
  std::vector<ResponseEstimate> estimates;
  std::vector<ResponseCurvePoint>
      curve;  ///< for the picture, over the measured range and a little more
  std::vector<ResponseCurvePoint> values;  ///< at the places that were asked for
  double ssr = 0;                          ///< of ln y where `log_scale`, else of y
  double rmse = 0;                         ///< sqrt(ssr/df); 0 where df = 0
  std::ptrdiff_t df = 0;
  bool log_scale = false;
  Notes notes;
};

struct FailedResponse {
  std::string group;
  std::string of;
  std::string why;
};

/// Value, standard error and profile interval of one parameter of a converged fit. An end at a
/// bound that the quantity cannot pass (`at_low`, `at_high`) closes the interval there; any other
/// bound leaves it open, and the value becomes a bound or is not identified. Error: that of the
/// profile.
Result<ResponseEstimate> estimate_of(const LeastSquaresProblem& problem, const LeastSquaresFit& fit,
                                     std::size_t k, std::string_view symbol, std::string_view unit,
                                     std::optional<double> at_low = {},
                                     std::optional<double> at_high = {});

/// A quantity that was given, not fitted.
ResponseEstimate fixed_estimate(std::string_view symbol, std::string_view unit, double value);

/// The best of several starts; an error only where none converges.
Result<LeastSquaresFit> best_of(LeastSquaresProblem problem,
                                const std::vector<std::vector<double>>& starts);

/// Standard error of a quantity from its gradient and the covariance; empty where there is none.
std::optional<double> linearised_se(const LeastSquaresFit& fit,
                                    const std::vector<double>& gradient);

}  // namespace leafwright
