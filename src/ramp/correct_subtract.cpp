// The differential of an empty record, matched on CO2r, taken from that of the leaf:
// correction.hpp. The matching is a straight line through the empty rows within some CO2 of each
// row of the leaf, so that a bowed ramp or a curved offset is followed without a model.
#include <algorithm>
#include <cmath>
#include <cstddef>

#include "base/number.hpp"
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

namespace {

constexpr double half_window = 25;  // umol mol-1 of CO2r
constexpr std::size_t fewest = 5;   // a ramp at 400 umol mol-1 min-1 has 7 in a window

/// A row of an empty ramp: D = S dil - R at its CO2r.
struct EmptyPoint {
  double CO2r = 0, D = 0;
  double variance = 0;  ///< white noise of D
  double time_s = 0;
};

void take_points(const Frame& frame, const PathNumbers& path, const RampRecord& empty,
                 double from_s, std::vector<EmptyPoint>& out) {
  const Programme programme = programme_of(empty);
  EndRule rule;
  rule.delay_s = std::max(path.lag_s - path.tau_s, 0.0);
  rule.tau_s = path.tau_s;
  rule.lag_s = path.lag_s;
  rule.gain = frame.median_gain;
  rule.epsilon = frame.options->epsilon;
  rule.trim_s = frame.options->trim_s;
  const Ends ends = ramp_ends(empty, programme, rule);
  const bool wet = empty.co2_per == Co2Per::moist_air && !empty.H2Or.empty() && !empty.H2Os.empty();
  const auto Wr = wet ? running_mean(empty.time_s, empty.H2Or, frame.options->water_mean_s)
                      : std::vector<double>{};
  const auto Ws = wet ? running_mean(empty.time_s, empty.H2Os, frame.options->water_mean_s)
                      : std::vector<double>{};
  const double sd_R = noise_of(empty.CO2r), sd_S = noise_of(empty.CO2s);
  for (std::size_t i = 0; i < empty.size(); ++i) {
    if (!ends.why[i].empty()) continue;
    const double dil = wet ? (1000 - Wr[i]) / (1000 - Ws[i]) : 1;
    const double D = dil * empty.CO2s[i] - empty.CO2r[i];
    if (!std::isfinite(D)) continue;
    const double variance = dil * dil * sd_S * sd_S + sd_R * sd_R;
    out.push_back({empty.CO2r[i], D, variance, from_s + empty.time_s[i]});
  }
}

/// The body of the empty ramps, by rising CO2r.
std::vector<EmptyPoint> differentials(const Frame& frame, const PathNumbers& path) {
  constexpr double apart_s = 1e9;  // records drift by themselves
  std::vector<EmptyPoint> out;
  double from_s = 0;
  for (const RampRecord& empty : frame.input->empties) {
    take_points(frame, path, empty, from_s, out);
    from_s += apart_s;
  }
  std::sort(out.begin(), out.end(), [](const EmptyPoint& a, const EmptyPoint& b) {
    return a.CO2r != b.CO2r ? a.CO2r < b.CO2r : a.D < b.D;
  });
  return out;
}

/// Straight lines over a sliding window of sorted points, as weights of these points.
class LocalLine {
 public:
  explicit LocalLine(const std::vector<EmptyPoint>& points) : points_(points) {}

  /// Without weights where too few points are near, or `x` is outside all of them.
  [[nodiscard]] WindowRow at(double x) const {
    const auto below = [](const EmptyPoint& p, double v) { return p.CO2r < v; };
    const auto from = std::lower_bound(points_.begin(), points_.end(), x - half_window, below);
    const auto to = std::lower_bound(points_.begin(), points_.end(), x + half_window, below);
    WindowRow out;
    out.first = static_cast<std::size_t>(from - points_.begin());
    const auto n = static_cast<double>(to - from);
    if (to - from < static_cast<std::ptrdiff_t>(fewest) || x < points_.front().CO2r ||
        x > points_.back().CO2r) {
      return out;
    }
    double mean = 0, squares = 0;
    for (auto p = from; p != to; ++p) mean += (p->CO2r - x) / n;
    for (auto p = from; p != to; ++p) squares += (p->CO2r - x - mean) * (p->CO2r - x - mean);
    for (auto p = from; p != to; ++p) {
      out.value.push_back(1 / n - (squares > 0 ? mean * (p->CO2r - x - mean) / squares : 0));
    }
    return out;
  }
  [[nodiscard]] double value(const WindowRow& row) const {
    if (row.value.empty()) return std::nan("");
    double sum = 0;
    for (std::size_t k = 0; k < row.value.size(); ++k) {
      sum += row.value[k] * points_[row.first + k].D;
    }
    return sum;
  }

 private:
  const std::vector<EmptyPoint>& points_;
};

LookedUp noise_of_points(const std::vector<EmptyPoint>& points) {
  LookedUp out;
  for (const EmptyPoint& point : points) {
    out.variance.push_back(point.variance);
    out.time_s.push_back(point.time_s);
    out.in_time.push_back(out.in_time.size());
  }
  std::sort(out.in_time.begin(), out.in_time.end(),
            [&](std::size_t a, std::size_t b) { return out.time_s[a] < out.time_s[b]; });
  return out;
}

}  // namespace

Result<PairedFlux> correct_subtract(const Frame& frame, const PathNumbers& path) {
  const auto points = differentials(frame, path);
  if (points.size() < fewest) {
    return fail(ErrorCode::unfit,
                "the empty records have " + std::to_string(points.size()) +
                    " rows on their ramps after both ends are left out",
                "at least " + std::to_string(fewest), "record a longer ramp of the empty chamber");
  }
  const LocalLine D(points);
  const std::vector<double> S = without_offset(frame, path);
  PairedFlux out{std::vector<double>(S.size()), S, noise_of_points(points)};
  for (std::size_t i = 0; i < S.size(); ++i) {
    // D holds the offset already: S as logged.
    const WindowRow from = D.at(frame.R[i]);
    out.A[i] = frame.gain[i] * (frame.R[i] + D.value(from) - frame.dilution[i] * frame.S[i]);
    out.looked_up->from.push_back(from);
  }
  if (frame.options->pairing) out.C = low_pass(frame, S, effective_tau(frame, path));
  return out;
}

}  // namespace leafwright::correction_detail
