#include "plan/gas_line.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace leafwright {

double GridSignal::at(double t) const {
  const double place = (t - begin) / h;
  if (!(place > 0)) return values.front();
  const auto k = static_cast<std::size_t>(place);
  if (k + 1 >= values.size()) return values.back();
  const double share = place - static_cast<double>(k);
  return values[k] + share * (values[k + 1] - values[k]);
}

void mix_first_order(GridSignal& signal, double tau) {
  if (tau <= 0 || signal.values.empty()) return;
  // Over one step the input is x0 + b t: y(h) = x1 - b tau + (y0 - x0 + b tau) exp(-h/tau).
  const double decay = std::exp(-signal.h / tau);
  double x0 = signal.values.front();
  double y = x0;
  for (double& value : signal.values) {
    const double x1 = value;
    const double lag = (x1 - x0) / signal.h * tau;
    y = x1 - lag + (y - x0 + lag) * decay;
    x0 = x1;
    value = y;
  }
}

Averager::Averager(GridSignal signal) : signal_(std::move(signal)) {
  const auto& x = signal_.values;
  if (x.empty()) throw std::logic_error("Averager: empty signal");
  integral_.reserve(x.size());
  integral_.push_back(0);
  for (std::size_t k = 1; k < x.size(); ++k) {
    integral_.push_back(integral_.back() + (x[k - 1] + x[k]) / 2 * signal_.h);
  }
}

double Averager::integral_to(double t) const {
  const auto& x = signal_.values;
  const double place = (t - signal_.begin) / signal_.h;
  if (place <= 0) return place * signal_.h * x.front();
  const auto last = static_cast<double>(x.size() - 1);
  if (place >= last) return integral_.back() + (place - last) * signal_.h * x.back();
  const auto k = static_cast<std::size_t>(place);
  const double share = place - static_cast<double>(k);
  return integral_[k] + share * signal_.h * (x[k] + share * (x[k + 1] - x[k]) / 2);
}

double Averager::mean(double from, double length) const {
  if (length <= 0) return signal_.at(from);
  return (integral_to(from + length) - integral_to(from)) / length;
}

std::vector<double> logged(const GridSignal& signal, double delay, const ChannelLogging& channel,
                           const std::vector<double>& times) {
  const double before = channel.stamp == Stamp::start    ? 0
                        : channel.stamp == Stamp::middle ? channel.averaging / 2
                                                         : channel.averaging;
  const Averager averager(signal);
  std::vector<double> out;
  out.reserve(times.size());
  for (const double t : times) {
    out.push_back(averager.mean(t - delay - before, channel.averaging));
  }
  return out;
}

}  // namespace leafwright
