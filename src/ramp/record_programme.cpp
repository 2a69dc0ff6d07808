#include "ramp/record_programme.hpp"

#include <algorithm>
#include <cmath>

namespace leafwright {

namespace {

constexpr double shortest_ramp_s = 20;

/// Slope of the straight line through the numbers of rows [first, last).
double slope_through(const std::vector<double>& t, const std::vector<double>& y, std::size_t first,
                     std::size_t last) {
  double n = 0, mt = 0, my = 0;
  for (std::size_t i = first; i < last; ++i) {
    if (!std::isfinite(y[i])) continue;
    n += 1;
    mt += t[i];
    my += y[i];
  }
  if (n < 2) return 0;
  mt /= n;
  my /= n;
  double tt = 0, ty = 0;
  for (std::size_t i = first; i < last; ++i) {
    if (!std::isfinite(y[i])) continue;
    tt += (t[i] - mt) * (t[i] - mt);
    ty += (t[i] - mt) * (y[i] - my);
  }
  return tt > 0 ? ty / tt : 0;
}

std::vector<double> slopes_over(const RampRecord& record, double window_s) {
  const auto& t = record.time_s;
  std::vector<double> slope(record.size());
  std::size_t first = 0, last = 0;
  for (std::size_t i = 0; i < record.size(); ++i) {
    // At the ends the window keeps its length and leans inward.
    double from = t[i] - window_s / 2, to = t[i] + window_s / 2;
    if (from < t.front()) to = t.front() + window_s;
    if (to > t.back()) from = std::min(from, t.back() - window_s);
    while (first < i && t[first] < from) ++first;
    while (last < t.size() && t[last] <= to) ++last;
    std::size_t begin = first;
    while (begin > 0 && t[begin - 1] >= from) --begin;
    slope[i] = slope_through(t, record.CO2r, begin, last);
  }
  return slope;
}

Stretch::Kind kind_of(double slope, double still) {
  if (std::abs(slope) < still) return Stretch::Kind::hold;
  return slope > 0 ? Stretch::Kind::up : Stretch::Kind::down;
}

void add_rates(const RampRecord& record, Programme& out) {
  for (Stretch& stretch : out.stretches) {
    stretch.seconds = record.time_s[stretch.last] - record.time_s[stretch.first];
    if (stretch.kind == Stretch::Kind::hold) continue;
    // The ends of a ramp are bent by the window: leave out an eighth of its rows at each.
    const std::size_t cut = (stretch.last - stretch.first) / 8;
    stretch.rate =
        slope_through(record.time_s, record.CO2r, stretch.first + cut, stretch.last + 1 - cut);
  }
}

void add_rate_of_all(Programme& out) {
  double up = 0, down = 0, jumps = 0, longest = 0;
  for (const Stretch& stretch : out.stretches) {
    if (stretch.kind == Stretch::Kind::hold) continue;
    if (stretch.seconds < shortest_ramp_s) {
      jumps += stretch.seconds;
      continue;
    }
    (stretch.kind == Stretch::Kind::up ? up : down) += stretch.seconds;
    if (stretch.seconds > longest) {
      longest = stretch.seconds;
      out.rate = stretch.rate;
    }
  }
  out.turns = up > 0 && down > 0;
  out.steps = jumps > 0 && jumps > up + down;
  bool one_rate = out.rate && !out.turns && !out.steps;
  for (const Stretch& stretch : out.stretches) {
    if (!one_rate || stretch.seconds < shortest_ramp_s || stretch.rate == 0) continue;
    one_rate = std::abs(stretch.rate - *out.rate) <= 0.05 * std::abs(*out.rate);
  }
  if (!one_rate) out.rate.reset();
}

double hundredth(std::vector<double> values, double part) {
  values.erase(std::remove_if(values.begin(), values.end(),
                              [](double value) { return !std::isfinite(value); }),
               values.end());
  if (values.empty()) return 0;
  const std::ptrdiff_t at = std::lround(part * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

}  // namespace

double Programme::hold_at_start() const {
  return !stretches.empty() && stretches.front().kind == Stretch::Kind::hold
             ? stretches.front().seconds
             : 0;
}

double Programme::hold_at_end() const {
  return !stretches.empty() && stretches.back().kind == Stretch::Kind::hold
             ? stretches.back().seconds
             : 0;
}

Programme programme_of(const RampRecord& record, double window_s) {
  Programme out;
  out.slope = slopes_over(record, window_s);
  std::vector<double> sizes;
  for (const double slope : out.slope) sizes.push_back(std::abs(slope));
  out.steepest = hundredth(sizes, 1);
  const double rows = std::max(2.0, window_s / usual_interval(record));
  const double of_noise = noise_of(record.CO2r) * std::sqrt(12 / rows) / window_s;
  const double typical = hundredth(sizes, 0.9);
  // In a log of steps the steepest slope is a jump and the 90th hundredth is noise.
  const double still =
      std::max({0.1 * std::min(out.steepest, std::max(typical, 1e-9)), 4 * of_noise, 1e-6});
  for (std::size_t i = 0; i < record.size(); ++i) {
    const auto kind = kind_of(out.slope[i], still);
    if (out.stretches.empty() || out.stretches.back().kind != kind) {
      out.stretches.push_back({kind, i, i, 0, 0});
    }
    out.stretches.back().last = i;
  }
  add_rates(record, out);
  add_rate_of_all(out);
  out.CO2_low = hundredth(record.CO2r, 0.01);
  out.CO2_high = hundredth(record.CO2r, 0.99);
  return out;
}

std::optional<FlowStep> flow_step(const RampRecord& record, double most) {
  constexpr std::size_t around = 5;
  if (record.flow.size() < 4 * around) return std::nullopt;
  std::optional<FlowStep> worst;
  double largest = most;
  for (std::size_t i = around; i + around < record.flow.size(); ++i) {
    const std::span<const double> all(record.flow);
    const auto before = median_of(all.subspan(i - around, around));
    const auto after = median_of(all.subspan(i, around));
    if (!before || !after || !(*before > 0)) continue;
    const double change = std::abs(*after / *before - 1);
    if (change <= largest) continue;
    largest = change;
    worst = FlowStep{i, *before, *after};
  }
  if (!worst) return worst;
  // The medians see the step over a few rows: it is where the flow itself jumps most.
  const auto jump = [&](std::size_t i) {
    const double size = std::abs(record.flow[i] - record.flow[i - 1]);
    return std::isfinite(size) ? size : 0;
  };
  const std::size_t first = worst->at - around + 1;
  const std::size_t last = std::min(worst->at + around, record.flow.size() - 1);
  for (std::size_t i = first; i <= last; ++i) {
    if (jump(i) > jump(worst->at)) worst->at = i;
  }
  return worst;
}

double noise_of(const std::vector<double>& series) {
  std::vector<double> sizes;
  for (std::size_t i = 2; i < series.size(); ++i) {
    const double second = series[i] - 2 * series[i - 1] + series[i - 2];
    if (std::isfinite(second)) sizes.push_back(std::abs(second));
  }
  if (sizes.size() < 10) return 0;
  return 1.4826 * *median_of(sizes) / std::sqrt(6.0);
}

std::optional<double> reference_before(const RampRecord& record, const Programme& programme) {
  constexpr double mean_s = 5;
  const double hold = programme.hold_at_start();
  if (!(hold > 0)) return std::nullopt;
  double sum = 0, n = 0;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (record.time_s[i] > record.time_s.front() + std::min(hold / 2, mean_s)) break;
    if (!std::isfinite(record.CO2r[i])) continue;
    sum += record.CO2r[i];
    n += 1;
  }
  return n > 0 ? std::optional(sum / n) : std::nullopt;
}

}  // namespace leafwright
