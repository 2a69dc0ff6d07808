#include "log/flux_storage.hpp"

#include <cmath>
#include <limits>

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t fewest = 4;

/// Sums of powers of u = 2 (t - t0)/window over a window; the slope of a quadratic at u = 0 is a
/// fixed combination of the values, with weights from these sums.
struct Sums {
  double n = 0, u = 0, u2 = 0, u3 = 0, u4 = 0;
  double low = 0, high = 0;
};

/// Row of the inverse of the normal matrix that gives the slope: c0 + c1 u + c2 u^2.
struct Weights {
  double c0 = 0, c1 = 0, c2 = 0;
  bool good = false;
};

Weights weights_of(const Sums& s) {
  Weights out;
  const double det = s.n * (s.u2 * s.u4 - s.u3 * s.u3) - s.u * (s.u * s.u4 - s.u3 * s.u2) +
                     s.u2 * (s.u * s.u3 - s.u2 * s.u2);
  if (!(std::abs(det) > 1e-12 * s.n * s.n * s.n)) return out;
  out.c0 = -(s.u * s.u4 - s.u2 * s.u3) / det;
  out.c1 = (s.n * s.u4 - s.u2 * s.u2) / det;
  out.c2 = -(s.n * s.u3 - s.u * s.u2) / det;
  out.good = true;
  return out;
}

/// Calls visit(i, position in rows of the first and one past the last of the window, weights,
/// half) for every row.
template <class Known, class Visit>
void over_windows(std::span<const double> seconds, std::span<const std::size_t> rows,
                  double window_s, Known known, Visit visit) {
  const double half = window_s / 2;
  std::size_t first = 0, last = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double t = seconds[rows[i]];
    if (std::isnan(t)) continue;
    // A clock that was set back ends the window: rows beyond it are of another time.
    if (i > 0 && !(t > seconds[rows[i - 1]])) first = i;
    if (last < i) last = i;
    while (first < i && t - seconds[rows[first]] > half) ++first;
    while (last < rows.size() && seconds[rows[last]] - t <= half &&
           (last <= i || seconds[rows[last]] > seconds[rows[last - 1]])) {
      ++last;
    }
    Sums sums;
    std::size_t n = 0;
    for (std::size_t k = first; k < last; ++k) {
      if (!known(rows[k])) continue;
      const double u = (seconds[rows[k]] - t) / half;
      if (std::isnan(u)) continue;
      if (n++ == 0) sums.low = u;
      sums.high = u;
      sums.n += 1;
      sums.u += u;
      sums.u2 += u * u;
      sums.u3 += u * u * u;
      sums.u4 += u * u * u * u;
    }
    if (n < fewest || sums.high - sums.low < 0.8) continue;
    const Weights weights = weights_of(sums);
    if (weights.good) visit(i, first, last, weights, half);
  }
}

}  // namespace

std::vector<double> local_slopes(std::span<const double> seconds, std::span<const double> values,
                                 std::span<const std::size_t> rows, double window_s) {
  std::vector<double> out(rows.size(), missing);
  over_windows(
      seconds, rows, window_s, [&](std::size_t row) { return !std::isnan(values[row]); },
      [&](std::size_t i, std::size_t first, std::size_t last, const Weights& w, double half) {
        double sum = 0;
        for (std::size_t k = first; k < last; ++k) {
          const double value = values[rows[k]];
          const double u = (seconds[rows[k]] - seconds[rows[i]]) / half;
          if (std::isnan(value) || std::isnan(u)) continue;
          sum += (w.c0 + w.c1 * u + w.c2 * u * u) * value;
        }
        out[i] = sum / half;
      });
  return out;
}

std::vector<double> local_slope_sds(std::span<const double> seconds,
                                    std::span<const std::size_t> rows, double window_s) {
  std::vector<double> out(rows.size(), missing);
  over_windows(
      seconds, rows, window_s, [](std::size_t) { return true; },
      [&](std::size_t i, std::size_t first, std::size_t last, const Weights& w, double half) {
        double sum = 0;
        for (std::size_t k = first; k < last; ++k) {
          const double u = (seconds[rows[k]] - seconds[rows[i]]) / half;
          if (std::isnan(u)) continue;
          const double weight = w.c0 + w.c1 * u + w.c2 * u * u;
          sum += weight * weight;
        }
        out[i] = std::sqrt(sum) / half;
      });
  return out;
}

}  // namespace leafwright
