// The differential of an empty record, matched on CO2r, taken from that of the leaf:
// correction.hpp. The matching is a straight line through the empty rows within some CO2 of each
// row of the leaf, so that a bowed ramp or a curved offset is followed without a model.
#include <algorithm>
#include <cmath>
#include <utility>

#include "base/number.hpp"
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

namespace {

constexpr double half_window = 25;  // umol mol-1 of CO2r
constexpr std::size_t fewest = 5;   // a ramp at 400 umol mol-1 min-1 has 7 in a window

/// (CO2r, S dil - R) of the body of the empty ramps, by rising CO2r.
std::vector<std::pair<double, double>> differentials(const Frame& frame, const PathNumbers& path) {
  std::vector<std::pair<double, double>> out;
  for (const RampRecord& empty : frame.input->empties) {
    const Programme programme = programme_of(empty);
    EndRule rule;
    rule.delay_s = std::max(path.lag_s - path.tau_s, 0.0);
    rule.tau_s = path.tau_s;
    rule.lag_s = path.lag_s;
    rule.gain = frame.median_gain;
    rule.epsilon = frame.options->epsilon;
    rule.trim_s = frame.options->trim_s;
    const Ends ends = ramp_ends(empty, programme, rule);
    const bool wet =
        empty.co2_per == Co2Per::moist_air && !empty.H2Or.empty() && !empty.H2Os.empty();
    const auto Wr = wet ? running_mean(empty.time_s, empty.H2Or, frame.options->water_mean_s)
                        : std::vector<double>{};
    const auto Ws = wet ? running_mean(empty.time_s, empty.H2Os, frame.options->water_mean_s)
                        : std::vector<double>{};
    for (std::size_t i = 0; i < empty.size(); ++i) {
      if (!ends.why[i].empty()) continue;
      const double dil = wet ? (1000 - Wr[i]) / (1000 - Ws[i]) : 1;
      const double D = dil * empty.CO2s[i] - empty.CO2r[i];
      if (std::isfinite(D)) out.emplace_back(empty.CO2r[i], D);
    }
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// Straight lines over a sliding window of sorted points, from running sums.
class LocalLine {
 public:
  explicit LocalLine(const std::vector<std::pair<double, double>>& points) : points_(points) {
    sums_.resize(points.size() + 1);
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double x = points[i].first - middle(), y = points[i].second;
      sums_[i + 1] = {sums_[i].x + x, sums_[i].y + y, sums_[i].xx + x * x, sums_[i].xy + x * y};
    }
  }
  /// Not a number where too few points are near, or `x` is outside all of them.
  [[nodiscard]] double at(double x) const {
    const auto below = [](const std::pair<double, double>& p, double v) { return p.first < v; };
    const auto from = std::lower_bound(points_.begin(), points_.end(), x - half_window, below);
    const auto to = std::lower_bound(points_.begin(), points_.end(), x + half_window, below);
    const auto a = static_cast<std::size_t>(from - points_.begin());
    const auto b = static_cast<std::size_t>(to - points_.begin());
    if (b - a < fewest || x < points_.front().first || x > points_.back().first)
      return std::nan("");
    const auto n = static_cast<double>(b - a);
    const double sx = sums_[b].x - sums_[a].x, sy = sums_[b].y - sums_[a].y;
    const double sxx = sums_[b].xx - sums_[a].xx - sx * sx / n;
    const double sxy = sums_[b].xy - sums_[a].xy - sx * sy / n;
    return sy / n + (sxx > 0 ? sxy / sxx * (x - middle() - sx / n) : 0);
  }

 private:
  struct Sums {
    double x = 0, y = 0, xx = 0, xy = 0;
  };
  [[nodiscard]] double middle() const { return points_[points_.size() / 2].first; }
  const std::vector<std::pair<double, double>>& points_;
  std::vector<Sums> sums_;
};

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
  PairedFlux out{std::vector<double>(S.size()), S};
  for (std::size_t i = 0; i < S.size(); ++i) {
    // D holds the offset already: S as logged.
    out.A[i] = frame.gain[i] *
               (frame.R[i] + D.at(frame.R[i]) - frame.dilution[i] * frame.S[i] + path.shift);
  }
  if (frame.options->pairing) out.C = low_pass(frame, S, effective_tau(frame, path));
  return out;
}

}  // namespace leafwright::correction_detail
