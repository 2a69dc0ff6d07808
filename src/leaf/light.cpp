#include "leaf/light.hpp"

#include <algorithm>
#include <cmath>

#include "leaf/c3.hpp"

namespace leafwright {

double light_assimilation(double Q, const LightLeaf& leaf) {
  return smooth_minimum(leaf.phi * Q, leaf.Amax, leaf.theta) - leaf.Rday;
}

std::optional<double> light_compensation_point(const LightLeaf& leaf) {
  if (leaf.Amax <= leaf.Rday || leaf.phi <= 0) return std::nullopt;
  return leaf.Rday * (leaf.Amax - leaf.theta * leaf.Rday) / (leaf.phi * (leaf.Amax - leaf.Rday));
}

std::optional<double> light_for_share(double share, const LightLeaf& leaf) {
  if (leaf.phi <= 0 || share >= 1) return std::nullopt;
  return share * (1 - leaf.theta * share) * leaf.Amax / (leaf.phi * (1 - share));
}

double light_slope(double Q, const LightLeaf& leaf) {
  // From theta g^2 - (phi Q + Am) g + phi Q Am = 0 by implicit differentiation.
  const double gross = smooth_minimum(leaf.phi * Q, leaf.Amax, leaf.theta);
  const double below = leaf.phi * Q + leaf.Amax - 2 * leaf.theta * gross;
  if (below <= 0) return leaf.phi * Q < leaf.Amax ? leaf.phi : 0;
  return leaf.phi * (leaf.Amax - gross) / below;
}

}  // namespace leafwright
