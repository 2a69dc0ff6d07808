#include "figure/labels.hpp"

#include <algorithm>
#include <limits>

namespace leafwright {

double overlap(const Box& a, const Box& b) {
  const double w = std::min(a.right, b.right) - std::max(a.left, b.left);
  const double h = std::min(a.bottom, b.bottom) - std::max(a.top, b.top);
  return w > 0 && h > 0 ? w * h : 0;
}

bool inside(const Box& inner, const Box& outer) {
  return inner.left >= outer.left && inner.right <= outer.right && inner.top >= outer.top &&
         inner.bottom <= outer.bottom;
}

std::vector<std::optional<std::size_t>> place_labels(
    const std::vector<std::vector<Box>>& candidates, const std::vector<Obstacle>& obstacles,
    const Box& bounds, double worst) {
  std::vector<std::optional<std::size_t>> chosen;
  std::vector<Box> placed;
  for (const std::vector<Box>& options : candidates) {
    std::optional<std::size_t> best;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < options.size(); ++i) {
      const Box& box = options[i];
      const auto hits = [&](const Box& other) { return overlap(box, other) > 0; };
      if (!inside(box, bounds) || std::any_of(placed.begin(), placed.end(), hits)) continue;
      double covered = 0;
      for (const Obstacle& o : obstacles) covered += o.weight * overlap(box, o.box);
      if (covered < least && covered <= worst * box.width() * box.height()) {
        least = covered;
        best = i;
      }
    }
    if (best) placed.push_back(options[*best]);
    chosen.push_back(best);
  }
  return chosen;
}

}  // namespace leafwright
