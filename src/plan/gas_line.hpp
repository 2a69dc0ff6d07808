// What lines, cells and loggers make of a signal on an even grid of times: dead time, first-order
// mixing, averaging. Written apart from the filters that corrections use, so that a fault there
// cannot hide itself here.
//
// Between grid points a signal is taken as straight; mixing and averaging of such a signal are
// exact, so that the one error left is that of the straight line, h^2/8 of its second derivative
// (checked by halving h).
#pragma once

#include <cstddef>
#include <vector>

#include "log/instrument.hpp"

namespace leafwright {

/// A signal at t = begin + k h, k = 0, 1, ...; before the first and after the last it is constant.
struct GridSignal {
  double begin = 0;  ///< s
  double h = 1;      ///< s
  std::vector<double> values;

  [[nodiscard]] double time(std::size_t k) const { return begin + static_cast<double>(k) * h; }
  /// By straight lines.
  [[nodiscard]] double at(double t) const;
};

/// tau y' + y = x, started at rest (y = x at the first point). tau = 0 changes nothing.
void mix_first_order(GridSignal& signal, double tau);

/// Means of a signal over windows of any length.
class Averager {
 public:
  explicit Averager(GridSignal signal);
  /// The mean over [from, from + length]; the value at `from` where length is 0.
  [[nodiscard]] double mean(double from, double length) const;

 private:
  [[nodiscard]] double integral_to(double t) const;
  GridSignal signal_;
  std::vector<double> integral_;  ///< from the first point to each
};

/// How a channel is logged.
struct ChannelLogging {
  double averaging = 0;  ///< s
  Stamp stamp = Stamp::end;
};

/// The signal as logged at `times`, having come `delay` s late.
std::vector<double> logged(const GridSignal& signal, double delay, const ChannelLogging& channel,
                           const std::vector<double>& times);

}  // namespace leafwright
