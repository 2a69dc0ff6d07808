#include "figure/ticks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "figure/text.hpp"

namespace leafwright {
namespace {

constexpr double beyond = 1e100;  // keeps every later product finite

// Ordered, finite and wide enough that tick values differ as doubles.
Span settled(double low, double high) {
  if (!std::isfinite(low) || !std::isfinite(high)) return {};
  low = std::clamp(low, -beyond, beyond);
  high = std::clamp(high, -beyond, beyond);
  if (low > high) std::swap(low, high);
  const double size = std::max(std::abs(low), std::abs(high));
  if (high - low <= 1e-9 * size || high == low) {
    const double room = std::max(0.5, 0.1 * size);
    return {low - room, high + room};
  }
  return {low, high};
}

double nice_step(double rough) {
  const double power = std::pow(10.0, std::floor(std::log10(rough)));
  const double f = rough / power;
  return power * (f < 1.5 ? 1 : f < 3.5 ? 2 : f < 7.5 ? 5 : 10);
}

std::string label_of(double value, double step, double size) {
  if (size >= 1e5 || size < 1e-4) {
    // Enough digits to tell neighbours apart, without trailing zeros.
    const int digits = static_cast<int>(std::ceil(std::log10(size / step))) + 1;
    return pretty_number(value, std::clamp(digits, 1, 15));
  }
  const int decimals = std::clamp(static_cast<int>(-std::floor(std::log10(step) + 1e-9)), 0, 12);
  const std::string text = fmt::format("{:.{}f}", std::abs(value), decimals);
  return (value < 0 ? "−" : "") + text;
}

}  // namespace

Span padded_span(const std::vector<double>& values, double margin, bool zero) {
  double low = beyond;
  double high = -beyond;
  for (const double v : values) {
    if (!std::isfinite(v) || std::abs(v) > beyond) continue;
    low = std::min(low, v);
    high = std::max(high, v);
  }
  if (low > high) return {};
  const bool from_zero = zero && low >= 0;
  const bool to_zero = zero && high <= 0 && !from_zero;
  if (from_zero) low = 0;
  if (to_zero) high = 0;
  const Span span = settled(low, high);
  const double room = margin * (span.high - span.low);
  const bool widened = span.low != low || span.high != high;
  if (widened) return span;
  return {from_zero ? 0 : span.low - room, to_zero ? 0 : span.high + room};
}

std::vector<Tick> nice_ticks(Span given, int wanted) {
  const Span span = settled(given.low, given.high);
  const double step = nice_step((span.high - span.low) / std::max(1, wanted));
  const double size = std::max(std::abs(span.low), std::abs(span.high));
  // A hair of slack, so that an end that is a tick but for rounding keeps its tick.
  const double first = std::ceil(span.low / step - 1e-9);
  const double last = std::floor(span.high / step + 1e-9);
  std::vector<Tick> ticks;
  for (double k = first; k <= last; k += 1) {
    const double value = k == 0 ? 0 : k * step;
    ticks.push_back({value, label_of(value, step, size)});
  }
  return ticks;
}

}  // namespace leafwright
