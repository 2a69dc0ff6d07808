#include "fit/joint_shrinkage.hpp"

#include <cmath>
#include <utility>
#include <vector>

namespace leafwright {

std::optional<double> alone_value(const AloneLeaf& leaf, const std::string& name) {
  const double value = name == "Vcmax" ? leaf.fit.Vcmax
                       : name == "J"   ? leaf.fit.J
                       : name == "TPU" ? leaf.fit.TPU
                                       : leaf.fit.Rday;
  if (!std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<double> kept_distance(const JointGroupRun& run, const std::string& name) {
  constexpr std::size_t fewest = 3;
  const bool log = name != "Rday";
  std::vector<std::pair<double, double>> pairs;  // alone, together
  double x = 0, y = 0;
  for (std::size_t l = 0; l < run.group.leaves.size(); ++l) {
    for (const Posterior& p : run.group.leaves[l].values) {
      const auto alone = alone_value(run.alone[l], name);
      if (p.name != name || !alone || (log && !(*alone > 0 && p.median > 0))) continue;
      pairs.emplace_back(log ? std::log(*alone) : *alone, log ? std::log(p.median) : p.median);
      x += pairs.back().first;
      y += pairs.back().second;
    }
  }
  if (pairs.size() < fewest) return std::nullopt;
  x /= static_cast<double>(pairs.size());
  y /= static_cast<double>(pairs.size());
  double xx = 0, xy = 0;
  for (const auto& [alone, together] : pairs) {
    xx += (alone - x) * (alone - x);
    xy += (alone - x) * (together - y);
  }
  if (!(xx > 0)) return std::nullopt;
  return xy / xx;
}

}  // namespace leafwright
