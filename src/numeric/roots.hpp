// One root of a function of one variable, from a bracket; and how to find a bracket when walking
// outward from an optimum, as profile intervals do.
//
// Method: algorithm 748 of Alefeld, Potra & Shi 1995 (ACM TOMS 21:327), as in Boost.Math: it never
// leaves the bracket and needs about 7-10 evaluations to full precision on smooth functions.
// A sign change across a jump is found too: the answer is then the place of the jump, and
// `Root::value` is not near zero. Look at it when the function may jump.
//
//   auto edge = bracket_outward(excess, best, +step, 1e4);
//   if (edge && !edge->open) auto limit = find_root(excess, edge->inner, edge->outer);
#pragma once

#include <functional>

#include "base/error.hpp"

namespace leafwright {

using ScalarFunction = std::function<double(double)>;

struct RootOptions {
  double relative = 1e-12;    ///< width of the final bracket relative to |x|; floor 4 epsilon
  double absolute = 0;        ///< or its width in units of x, whichever is wider
  int max_evaluations = 200;  ///< including the two at the ends; a bisection needs about 50
};

struct Root {
  double x = 0;              ///< the end of the final bracket with the smaller |f|
  double value = 0;          ///< f(x)
  double low = 0, high = 0;  ///< the final bracket: f changes sign here
  int evaluations = 0;
};

/// The root of `f` between `a` and `b` (any order). An end where f is exactly 0 is the answer.
/// Errors (code unfit): f(a) and f(b) have the same sign; f not finite at a place it was asked
/// (the place is told); not narrow enough after max_evaluations. Errors (usage): ends not finite.
Result<Root> find_root(const ScalarFunction& f, double a, double b,
                       const RootOptions& options = {});

/// What an outward walk found.
struct OutwardBracket {
  bool open = false;  ///< no change of sign up to `limit`: the interval is open on this side
  double inner = 0;   ///< last place with the sign that f has at the start
  double outer = 0;   ///< first place with the other sign (or 0); = inner where open
  double f_inner = 0, f_outer = 0;
  int evaluations = 0;
};

struct OutwardOptions {
  double growth = 2;  ///< each step is this much longer than the one before (>= 1)
  int max_evaluations = 100;
};

/// Walks from `start` by `step` (its sign is the direction), `step * growth`, ... until f changes
/// sign or `limit` has been asked (limit may be infinite: then max_evaluations bounds the walk,
/// and reaching it is an error, as nothing is proved). A root closer to the start than the walk's
/// steps can be missed when f changes sign twice within one step.
/// Errors (unfit): f not finite; max_evaluations reached. Errors (usage): step 0 or pointing away
/// from limit, growth < 1, start not finite.
Result<OutwardBracket> bracket_outward(const ScalarFunction& f, double start, double step,
                                       double limit, const OutwardOptions& options = {});

}  // namespace leafwright
