// How fast a series changes, for the storage term. Used by flux.cpp only.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace leafwright {

/// The slope per second of `values` at each of `rows`: a quadratic laid by least squares over the
/// rows within `window_s`/2 on either side, its slope in the middle. No bias on a straight line or
/// a parabola; the first and last half window lean on one side only. Not a number where fewer than
/// four rows, or less than two fifths of the window, lie around a row. `seconds` and `values` are
/// by row of the log; `rows` are in order.
std::vector<double> local_slopes(std::span<const double> seconds, std::span<const double> values,
                                 std::span<const std::size_t> rows, double window_s);

/// The standard deviation of such a slope for independent noise of sd 1 in each value; not a number
/// where there is no slope.
std::vector<double> local_slope_sds(std::span<const double> seconds,
                                    std::span<const std::size_t> rows, double window_s);

}  // namespace leafwright
