#include "ramp/identify_model.hpp"

#include <algorithm>
#include <cmath>

namespace leafwright::identify_detail {

namespace {

constexpr double water_mean_s = 15;
constexpr double memory = 6;  // time constants after which the start is forgotten (0.25 %)

ChannelTiming timing_of(const RampRecord& record, const char* symbol) {
  return record.instrument.timing(symbol).value_or(ChannelTiming{});
}

/// (1 - Wr)/(1 - Ws) of the mean water over some seconds, so that its noise stays out. 1 for CO2
/// per dry air, or without water.
std::vector<double> dilutions(const RampRecord& record) {
  std::vector<double> out(record.size(), 1);
  if (record.co2_per == Co2Per::dry_air || record.H2Or.empty() || record.H2Os.empty()) return out;
  std::size_t first = 0, last = 0;
  double r = 0, s = 0, n = 0;
  const auto add = [&](std::size_t i, double sign) {
    if (!std::isfinite(record.H2Or[i]) || !std::isfinite(record.H2Os[i])) return;
    r += sign * record.H2Or[i];
    s += sign * record.H2Os[i];
    n += sign;
  };
  for (std::size_t i = 0; i < record.size(); ++i) {
    while (last < record.size() && record.time_s[last] <= record.time_s[i] + water_mean_s / 2)
      add(last++, 1);
    while (record.time_s[first] < record.time_s[i] - water_mean_s / 2) add(first++, -1);
    if (n > 0.5) out[i] = (1 - r / n / 1000) / (1 - s / n / 1000);
  }
  return out;
}

FitRecord fit_record(const RampRecord& record, Interpolation interpolation) {
  Programme programme = programme_of(record);
  const double shift = timing_of(record, "CO2r").to_middle();
  std::vector<double> time = record.time_s, kept;
  for (double& t : time) t += shift;
  PathFilter filter(time, record.CO2r, interpolation, reference_before(record, programme));
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (std::isfinite(record.CO2r[i])) kept.push_back(time[i]);
  }
  return {&record, std::move(programme), std::move(filter), std::move(kept), 0, {}, {}, {}, {}};
}

/// Where rows of CO2r are so far apart that what went on between them is not known, unless CO2r
/// stood still.
std::vector<std::pair<double, double>> blind_spans(const FitRecord& fit) {
  const RampRecord& record = *fit.record;
  const double usual = usual_interval(record), noise = noise_of(record.CO2r);
  std::vector<std::pair<double, double>> spans;
  std::optional<std::size_t> last;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (!std::isfinite(record.CO2r[i])) continue;
    if (last && record.time_s[i] - record.time_s[*last] > std::max(3 * usual, 2.0)) {
      const bool still = std::abs(record.CO2r[i] - record.CO2r[*last]) <= 6 * noise + 0.01;
      if (!still) spans.emplace_back(record.time_s[*last], record.time_s[i]);
    }
    last = i;
  }
  return spans;
}

}  // namespace

PathData::PathData(const std::vector<const RampRecord*>& records, const IdentifyOptions& options) {
  double low = 1e300, high = -1e300;
  for (const RampRecord* record : records) {
    records_.push_back(fit_record(*record, options.interpolation));
    low = std::min(low, records_.back().programme.CO2_low);
    high = std::max(high, records_.back().programme.CO2_high);
    const double of_S = timing_of(*record, "CO2s").averaging_s;
    const double of_R = timing_of(*record, "CO2r").averaging_s;
    averaging_ = of_S == of_R ? 0 : of_S;
  }
  middle_ = (low + high) / 2000;
  scale_ = std::max((high - low) / 2000, 1e-6);
  order_ = options.offset_order.value_or(high - low >= 400 ? 2 : high - low >= 30 ? 1 : 0);
}

void PathData::choose_rows(const PathPoint& at) {
  size_ = 0;
  const double delay = at.lag - at.mixing;
  for (FitRecord& fit : records_) {
    const RampRecord& record = *fit.record;
    const ChannelTiming of_S = timing_of(record, "CO2s"), of_R = timing_of(record, "CO2r");
    std::vector<double> time = record.time_s, S = record.CO2s;
    for (double& t : time) t += of_S.to_middle();
    if (of_R.averaging_s > 0 && of_R.averaging_s != of_S.averaging_s) {
      S = PathFilter(time, record.CO2s, Interpolation::linear).apply(0, 0, time, of_R.averaging_s);
    }
    const bool rests = fit.programme.hold_at_start() >= 5;
    const double known_from = fit.filter.first_time() + (rests ? 0 : delay + memory * at.mixing);
    const double known_to = fit.filter.last_time() + std::min(0.0, delay);
    const auto blind = blind_spans(fit);
    const auto dilution = dilutions(record);
    fit.first = static_cast<std::size_t>(size_);
    fit.rows.clear();
    fit.time.clear();
    fit.S.clear();
    fit.dilution.clear();
    for (std::size_t i = 0; i < record.size(); ++i) {
      if (!std::isfinite(S[i]) || time[i] < known_from || time[i] > known_to) continue;
      const bool hidden = std::any_of(blind.begin(), blind.end(), [&](const auto& span) {
        return time[i] > span.first + std::min(0.0, delay) &&
               time[i] < span.second + delay + memory * at.mixing;
      });
      if (hidden) continue;
      fit.rows.push_back(i);
      fit.time.push_back(time[i]);
      fit.S.push_back(S[i]);
      fit.dilution.push_back(dilution[i]);
    }
    size_ += static_cast<Eigen::Index>(fit.rows.size());
  }
}

Eigen::VectorXd PathData::sample() const {
  Eigen::VectorXd out(size_);
  Eigen::Index k = 0;
  for (const FitRecord& fit : records_) {
    for (const double S : fit.S) out[k++] = S;
  }
  return out;
}

Eigen::VectorXd PathData::matched(const PathPoint& at) const {
  Eigen::VectorXd out(size_);
  Eigen::Index k = 0;
  for (const FitRecord& fit : records_) {
    const auto M = fit.filter.apply(at.lag - at.mixing, at.mixing, fit.time,
                                    at.averaging > 0 ? at.averaging : averaging_);
    for (std::size_t i = 0; i < M.size(); ++i) out[k++] = M[i] / fit.dilution[i];
  }
  return out;
}

Eigen::MatrixXd PathData::offsets(const Eigen::VectorXd& matched) const {
  Eigen::MatrixXd out(size_, order_ + 1);
  for (Eigen::Index i = 0; i < size_; ++i) {
    const double v = (matched[i] / 1000 - middle_) / scale_;
    double power = 1;
    for (int k = 0; k <= order_; ++k, power *= v) out(i, k) = power;
  }
  return out;
}

Eigen::MatrixXd PathData::transform() const {
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(3, order_ + 1);
  const double m = middle_, s = scale_;
  out(0, 0) = 1;
  if (order_ >= 1) {
    out(0, 1) = -m / s;
    out(1, 1) = 1 / s;
  }
  if (order_ >= 2) {
    out(0, 2) = m * m / (s * s);
    out(1, 2) = -2 * m / (s * s);
    out(2, 2) = 1 / (s * s);
  }
  return out;
}

PathData::Fit PathData::fit(const PathPoint& at) const {
  Fit out;
  out.matched = matched(at);
  const Eigen::MatrixXd X = offsets(out.matched);
  const Eigen::VectorXd D = sample() - out.matched;
  // The columns are powers on [-1, 1]: their cross products are well enough conditioned.
  out.coefficients = (X.transpose() * X).ldlt().solve(X.transpose() * D);
  out.residuals = D - X * out.coefficients;
  out.ssr = out.residuals.squaredNorm();
  return out;
}

}  // namespace leafwright::identify_detail
