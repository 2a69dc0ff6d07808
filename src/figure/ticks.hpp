// Round tick values for an axis: steps of 1, 2 or 5 times a power of ten (Heckbert 1990, "Nice
// numbers for graph labels", Graphics Gems, 61-63).
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace leafwright {

/// What an axis spans. Always finite, `low < high`, and wide enough to be told apart in doubles.
struct Span {
  double low = 0;
  double high = 1;
};

/// The span that shows all `values` with `margin` (a share of their range) on both sides. Values
/// that are not finite, or beyond 1e100, are left out; without any the span is 0..1. Equal values
/// get room of a tenth of their size (at least 0.5) on both sides. With `zero` the span reaches 0
/// without a margin there.
Span padded_span(const std::vector<double>& values, double margin, bool zero);

struct Tick {
  double value = 0;
  std::string label;  ///< with a real minus sign; "1.5e6" from 1e5 and below 1e-4
};

/// Ticks inside `span`, about `wanted` (>= 1) of them and never more than twice that plus one. The
/// span need not be ordered or distinct: it is made so. All labels show the same decimals.
std::vector<Tick> nice_ticks(Span span, int wanted);

}  // namespace leafwright
