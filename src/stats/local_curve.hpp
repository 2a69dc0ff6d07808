// A measured curve as a function of Ci, without a model: how A at any Ci follows from the rows.
//
// Rule: with at least `fewest` rows within `window`/2 of x, some on either side, A(x) is the local
// straight line through them (least squares, equal weights; Cleveland 1979, JASA 74:829, without
// his weights). Otherwise it lies on the straight line between the nearest row below and the
// nearest above; rows closer than 1e-6 of the range count as one. Never beyond the first or last
// row. Either way A(x) is a weighted sum of the rows' A, so its noise is known.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace leafwright {

struct RowPoint {
  double Ci = 0;  ///< umol mol-1
  double A = 0;   ///< umol m-2 s-1
};

struct LocalRule {
  double window = 40;      ///< umol mol-1
  std::size_t fewest = 6;  ///< rows in the window for a local line
};

/// One row's part in A(x).
struct RowWeight {
  std::size_t row = 0;  ///< as given to the constructor
  double weight = 0;
};

class LocalCurve {
 public:
  /// Points in any order; at least two different Ci, all finite, else std::logic_error.
  LocalCurve(std::span<const RowPoint> points, const LocalRule& rule);

  [[nodiscard]] double low() const { return points_.front().Ci; }
  [[nodiscard]] double high() const { return points_.back().Ci; }
  /// Weights that add up to 1; empty where x is outside [low, high].
  [[nodiscard]] std::vector<RowWeight> weights(double x) const;
  /// A at x; empty outside.
  [[nodiscard]] std::optional<double> at(double x) const;

 private:
  struct Sorted {
    double Ci = 0, A = 0;
    std::size_t row = 0;
  };
  [[nodiscard]] std::vector<RowWeight> between(double x) const;
  std::vector<Sorted> points_;  ///< by Ci
  LocalRule rule_;
};

}  // namespace leafwright
