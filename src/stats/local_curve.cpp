#include "stats/local_curve.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace leafwright {

LocalCurve::LocalCurve(std::span<const RowPoint> points, const LocalRule& rule) : rule_(rule) {
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!std::isfinite(points[i].Ci + points[i].A)) throw std::logic_error("a point not finite");
    points_.push_back({points[i].Ci, points[i].A, i});
  }
  std::stable_sort(points_.begin(), points_.end(),
                   [](const Sorted& a, const Sorted& b) { return a.Ci < b.Ci; });
  if (points_.size() < 2 || !(low() < high())) {
    throw std::logic_error("a curve needs two different Ci");
  }
}

std::vector<RowWeight> LocalCurve::between(double x) const {
  const double same = 1e-6 * (high() - low());
  // All rows at the nearest Ci below (or at) x share its place, and likewise above.
  const auto share = [&](double Ci, double weight, std::vector<RowWeight>& into) {
    const std::size_t first = into.size();
    for (const Sorted& p : points_) {
      if (std::abs(p.Ci - Ci) <= same) into.push_back({p.row, 0});
    }
    for (std::size_t i = first; i < into.size(); ++i) {
      into[i].weight = weight / static_cast<double>(into.size() - first);
    }
  };
  double below = low(), above = high();
  for (const Sorted& p : points_) {
    if (p.Ci <= x) below = p.Ci;
    if (p.Ci >= x) {
      above = p.Ci;
      break;
    }
  }
  std::vector<RowWeight> out;
  if (above - below <= same) {
    share(below, 1, out);
    return out;
  }
  const double t = (x - below) / (above - below);
  share(below, 1 - t, out);
  share(above, t, out);
  return out;
}

std::vector<RowWeight> LocalCurve::weights(double x) const {
  if (!(x >= low() && x <= high())) return {};
  const auto begin = std::lower_bound(points_.begin(), points_.end(), x - rule_.window / 2,
                                      [](const Sorted& p, double Ci) { return p.Ci < Ci; });
  const auto end = std::upper_bound(begin, points_.end(), x + rule_.window / 2,
                                    [](double Ci, const Sorted& p) { return Ci < p.Ci; });
  const auto count = static_cast<std::size_t>(end - begin);
  const bool astride = count > 0 && begin->Ci <= x && (end - 1)->Ci >= x;
  if (count < rule_.fewest || !astride) return between(x);
  const double n = static_cast<double>(count);
  double mean = 0, sxx = 0;
  for (auto p = begin; p != end; ++p) mean += p->Ci / n;
  for (auto p = begin; p != end; ++p) sxx += (p->Ci - mean) * (p->Ci - mean);
  std::vector<RowWeight> out;
  for (auto p = begin; p != end; ++p) {
    const double slope_part = sxx > 0 ? (x - mean) * (p->Ci - mean) / sxx : 0;
    out.push_back({p->row, 1 / n + slope_part});
  }
  return out;
}

std::optional<double> LocalCurve::at(double x) const {
  const std::vector<RowWeight> parts = weights(x);
  if (parts.empty()) return std::nullopt;
  std::vector<double> A(points_.size());
  for (const Sorted& p : points_) A[p.row] = p.A;
  double sum = 0;
  for (const RowWeight& part : parts) sum += part.weight * A[part.row];
  return sum;
}

}  // namespace leafwright
