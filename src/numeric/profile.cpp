#include "numeric/profile.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "numeric/distributions.hpp"
#include "numeric/roots.hpp"

namespace leafwright {

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Refits with one parameter held, from the best parameters of the last value asked.
class Held {
 public:
  Held(const LeastSquaresProblem& problem, const LeastSquaresFit& best, std::size_t k)
      : problem_(problem), k_(k), last_(best.parameters) {
    const std::size_t n = last_.size();
    if (problem_.lower.empty()) problem_.lower.assign(n, -infinity);
    if (problem_.upper.empty()) problem_.upper.assign(n, infinity);
  }

  /// The lowest sum of squares with p_k = value; not a number where it cannot be computed.
  double ssr(double value) {
    problem_.start = last_;
    problem_.start[k_] = value;
    problem_.lower[k_] = problem_.upper[k_] = value;
    const auto fit = least_squares(problem_);
    if (!fit) return std::numeric_limits<double>::quiet_NaN();
    last_ = fit->parameters;
    return fit->ssr;
  }

 private:
  LeastSquaresProblem problem_;
  std::size_t k_;
  std::vector<double> last_;
};

struct Side {
  double end = 0;
  double step = 0;
};

Side side_of(const LeastSquaresProblem& problem, const LeastSquaresFit& best, std::size_t k,
             const ProfileOptions& options, bool up) {
  const double at = best.parameters[k];
  const auto& bounds = up ? problem.upper : problem.lower;
  const auto& given = up ? options.search_high : options.search_low;
  const double sign = up ? 1 : -1;
  const bool has_se = k < best.standard_errors.size() && best.standard_errors[k].has_value();
  const double typical =
      problem.typical.empty() ? std::max(std::abs(at), 1e-3) : problem.typical[k];
  const double size = has_se && *best.standard_errors[k] > 0 ? *best.standard_errors[k] : typical;
  double end = at + sign * 1e4 * size;
  if (!bounds.empty() && std::isfinite(bounds[k])) end = bounds[k];
  if (given) end = up ? std::min(end, *given) : std::max(end, *given);
  return {end, sign * size};
}

Result<std::optional<double>> limit_of(Held held, double at, const Side& side, double ssr_limit) {
  if (side.step > 0 ? at >= side.end : at <= side.end) return std::optional<double>();
  const ScalarFunction excess = [&](double value) { return held.ssr(value) - ssr_limit; };
  const auto walk = bracket_outward(excess, at, side.step, side.end, {1.6, 200});
  if (!walk) return fail(walk.error());
  if (walk->open) return std::optional<double>();
  RootOptions precise;
  precise.relative = 1e-8;
  const auto root = find_root(excess, walk->inner, walk->outer, precise);
  if (!root) return fail(root.error());
  return std::optional<double>(root->x);
}

}  // namespace

Result<ProfileInterval> profile_interval(const LeastSquaresProblem& problem,
                                         const LeastSquaresFit& best, std::size_t k,
                                         const ProfileOptions& options) {
  if (k >= best.parameters.size()) {
    return fail(ErrorCode::usage, "parameter " + std::to_string(k),
                "one of " + std::to_string(best.parameters.size()), "");
  }
  if (best.df <= 0) {
    return fail(ErrorCode::unfit, "no degrees of freedom are left", "more rows than parameters",
                "add points or fix a parameter");
  }
  const double df = static_cast<double>(best.df);
  const double ssr_limit = best.ssr * (1 + f_quantile(options.level, 1, df) / df);
  const Held held(problem, best, k);
  ProfileInterval interval;
  for (const bool up : {false, true}) {
    const Side side = side_of(problem, best, k, options, up);
    auto limit = limit_of(held, best.parameters[k], side, ssr_limit);
    if (!limit) return fail(limit.error());
    (up ? interval.high : interval.low) = *limit;
  }
  return interval;
}

}  // namespace leafwright
