#include "numeric/roots.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>

namespace leafwright {
namespace {

bool same_sign(double a, double b) {
  return (a < 0) == (b < 0) && a != 0 && b != 0;
}

tl::unexpected<Error> not_finite(double x) {
  return fail(ErrorCode::unfit, fmt::format("the function is not finite at {:.17g}", x),
              "a finite value everywhere in the bracket", "narrow the bracket");
}

// Counts calls, remembers the last value of either sign (these are the ends of the bracket, which
// need no second evaluation) and where the function was not finite. There it answers 0, at which
// the algorithm stops: no exception has to pass through library code.
class Watched {
 public:
  explicit Watched(const ScalarFunction& f) : f_(f) {}
  double operator()(double x) {
    ++calls;
    const double y = f_(x);
    if (std::isfinite(y)) {
      last_[y < 0 ? 0 : 1] = {x, y};
      return y;
    }
    if (!bad_at) bad_at = x;
    return 0;
  }
  double value_at(double x) {
    for (const auto& [place, value] : last_)
      if (place == x) return value;
    return (*this)(x);
  }
  int calls = 0;
  std::optional<double> bad_at;

 private:
  const ScalarFunction& f_;
  std::array<std::pair<double, double>, 2> last_{std::pair{std::nan(""), 0.0},
                                                 std::pair{std::nan(""), 0.0}};
};

}  // namespace

Result<Root> find_root(const ScalarFunction& f, double a, double b, const RootOptions& options) {
  if (!std::isfinite(a) || !std::isfinite(b))
    return fail(ErrorCode::usage, fmt::format("a bracket from {} to {}", a, b), "finite ends");
  if (a > b) std::swap(a, b);
  Watched watched(f);
  const double fa = watched(a), fb = watched(b);
  if (watched.bad_at) return not_finite(*watched.bad_at);
  if (fa == 0) return Root{a, 0, a, a, watched.calls};
  if (fb == 0) return Root{b, 0, b, b, watched.calls};
  if (same_sign(fa, fb))
    return fail(
        ErrorCode::unfit,
        fmt::format("f({:.6g}) = {:.6g} and f({:.6g}) = {:.6g} have the same sign", a, fa, b, fb),
        "a change of sign between the ends", "widen the bracket");
  const double relative = std::max(options.relative, 4 * std::numeric_limits<double>::epsilon());
  const auto narrow = [&](double low, double high) {
    const double size = std::min(std::abs(low), std::abs(high));
    return high - low <= std::max(relative * size, options.absolute);
  };
  auto budget = static_cast<std::uintmax_t>(std::max(options.max_evaluations - 2, 1));
  const auto bracket = boost::math::tools::toms748_solve([&](double x) { return watched(x); }, a, b,
                                                         fa, fb, narrow, budget);
  if (watched.bad_at) return not_finite(*watched.bad_at);
  const auto [low, high] = bracket;
  const double f_low = watched.value_at(low), f_high = watched.value_at(high);
  const bool low_is_better = std::abs(f_low) <= std::abs(f_high);
  const Root root{low_is_better ? low : high, low_is_better ? f_low : f_high, low, high,
                  watched.calls};
  // Next to 0 a relative width is never reached; neighbouring numbers are as narrow as can be.
  const bool neighbours = std::nextafter(low, high) >= high;
  if (root.value != 0 && !narrow(low, high) && !neighbours)
    return fail(ErrorCode::unfit,
                fmt::format("no root to the asked precision after {} evaluations: it lies "
                            "between {:.17g} and {:.17g}",
                            watched.calls, low, high),
                fmt::format("a bracket narrower than {:.3g} of its place", relative),
                "allow more evaluations or a wider tolerance");
  return root;
}

Result<OutwardBracket> bracket_outward(const ScalarFunction& f, double start, double step,
                                       double limit, const OutwardOptions& options) {
  const bool away = step > 0 ? limit < start : limit > start;
  if (!std::isfinite(start) || !std::isfinite(step) || step == 0 || std::isnan(limit) || away ||
      !(options.growth >= 1))
    return fail(ErrorCode::usage,
                fmt::format("a walk from {} by {} to {}, growing by {}", start, step, limit,
                            options.growth),
                "a finite start, a step towards the limit, growth >= 1");
  OutwardBracket walk;
  walk.inner = walk.outer = start;
  walk.f_inner = walk.f_outer = f(start);
  walk.evaluations = 1;
  if (!std::isfinite(walk.f_inner)) return not_finite(start);
  if (walk.f_inner == 0) return walk;
  while (walk.inner != limit) {
    if (walk.evaluations >= options.max_evaluations)
      return fail(ErrorCode::unfit,
                  fmt::format("no change of sign between {:.6g} and {:.6g} in {} evaluations",
                              start, walk.inner, walk.evaluations),
                  "a change of sign or a limit within reach", "give a nearer limit");
    double next = walk.inner + step;
    if (!std::isfinite(next) || (step > 0 ? next > limit : next < limit)) next = limit;
    if (!std::isfinite(next) || next == walk.inner) break;
    const double value = f(next);
    ++walk.evaluations;
    if (!std::isfinite(value)) return not_finite(next);
    walk.outer = next;
    walk.f_outer = value;
    if (!same_sign(walk.f_inner, value)) return walk;
    walk.inner = next;
    walk.f_inner = value;
    step *= options.growth;
  }
  walk.open = true;
  walk.outer = walk.inner;
  walk.f_outer = walk.f_inner;
  return walk;
}

}  // namespace leafwright
