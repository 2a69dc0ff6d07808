#include "fit/response_fit.hpp"

#include <cmath>

#include "numeric/profile.hpp"

namespace leafwright {

Result<ResponseEstimate> estimate_of(const LeastSquaresProblem& problem, const LeastSquaresFit& fit,
                                     std::size_t k, std::string_view symbol, std::string_view unit,
                                     std::optional<double> at_low, std::optional<double> at_high) {
  ResponseEstimate out;
  out.symbol = symbol;
  out.unit = unit;
  const double value = fit.parameters.at(k);
  if (fit.df <= 0) {
    out.status = "not identified";
    return out;
  }
  if (k < fit.standard_errors.size()) out.se = fit.standard_errors[k];
  const auto interval = profile_interval(problem, fit, k);
  if (!interval) return fail(interval.error());
  out.low = interval->low;
  out.high = interval->high;
  if (!out.low && !out.high) {
    out.status = "not identified";
  } else if (!out.high && !at_high) {
    out.status = "lower bound";
  } else if (!out.low && !at_low) {
    out.status = "upper bound";
  } else {
    out.value = value;
    if (!out.low) out.low = at_low;
    if (!out.high) out.high = at_high;
  }
  if (!out.value) out.se.reset();
  return out;
}

ResponseEstimate fixed_estimate(std::string_view symbol, std::string_view unit, double value) {
  ResponseEstimate out;
  out.symbol = symbol;
  out.unit = unit;
  out.value = value;
  out.status = "fixed";
  return out;
}

Result<LeastSquaresFit> best_of(LeastSquaresProblem problem,
                                const std::vector<std::vector<double>>& starts) {
  std::optional<LeastSquaresFit> best;
  std::optional<Error> why;
  for (const std::vector<double>& start : starts) {
    problem.start = start;
    auto fit = least_squares(problem);
    if (!fit) {
      why = fit.error();
    } else if (!best || fit->ssr < best->ssr) {
      best = std::move(*fit);
    }
  }
  if (best) return std::move(*best);
  return fail(*why);
}

std::optional<double> linearised_se(const LeastSquaresFit& fit,
                                    const std::vector<double>& gradient) {
  const std::size_t n = fit.parameters.size();
  if (fit.covariance.size() != n * n) return std::nullopt;
  double variance = 0;
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      variance += gradient[i] * fit.covariance[i * n + j] * gradient[j];
    }
  }
  return std::sqrt(std::max(variance, 0.0));
}

}  // namespace leafwright
