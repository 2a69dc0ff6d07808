#include "numeric/spline_basis.hpp"

#include <algorithm>
#include <stdexcept>

namespace leafwright {

CubicSplineBasis::CubicSplineBasis(double from, double to, std::size_t intervals)
    : from_(from), width_((to - from) / static_cast<double>(intervals)), intervals_(intervals) {
  if (!(to > from) || intervals == 0) throw std::logic_error("splines over an empty range");
}

SplineValues CubicSplineBasis::at(double x) const {
  const double s = std::clamp((x - from_) / width_, 0.0, static_cast<double>(intervals_));
  SplineValues out;
  out.first = std::min(static_cast<std::size_t>(s), intervals_ - 1);
  const double t = s - static_cast<double>(out.first), u = 1 - t;
  out.value = {u * u * u / 6, (3 * t * t * t - 6 * t * t + 4) / 6,
               (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6, t * t * t / 6};
  out.slope = {-u * u / 2, (3 * t * t - 4 * t) / 2, (-3 * t * t + 2 * t + 1) / 2, t * t / 2};
  for (double& slope : out.slope) slope /= width_;
  return out;
}

}  // namespace leafwright
