#include "ramp/gas_path_filter.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

namespace leafwright {

namespace {

/// exp(-u/tau), remembered for the last u: rows at even spacing ask for few different ones.
class Decay {
 public:
  explicit Decay(double tau) : tau_(tau) {}
  double operator()(double u) {
    if (u != u_) {
      u_ = u;
      value_ = tau_ > 0 ? std::exp(-u / tau_) : 0;
    }
    return value_;
  }

 private:
  double tau_;
  double u_ = -1, value_ = 0;
};

/// Slopes of the parabola through each row and its neighbours.
std::vector<double> bessel_slopes(const std::vector<double>& t, const std::vector<double>& r) {
  const std::size_t n = t.size();
  std::vector<double> chord(n - 1), slope(n);
  for (std::size_t k = 0; k + 1 < n; ++k) chord[k] = (r[k + 1] - r[k]) / (t[k + 1] - t[k]);
  if (n == 2) return {chord[0], chord[0]};
  for (std::size_t k = 1; k + 1 < n; ++k) {
    const double left = t[k] - t[k - 1], right = t[k + 1] - t[k];
    slope[k] = (right * chord[k - 1] + left * chord[k]) / (left + right);
  }
  slope[0] = 2 * chord[0] - slope[1];
  slope[n - 1] = 2 * chord[n - 2] - slope[n - 2];
  return slope;
}

}  // namespace

const char* interpolation_name(Interpolation interpolation) {
  return interpolation == Interpolation::linear ? "linear" : "cubic";
}

PathFilter::PathFilter(std::span<const double> time_s, std::span<const double> values,
                       Interpolation interpolation, std::optional<double> before) {
  if (time_s.size() != values.size()) throw std::logic_error("as many times as values");
  std::vector<double> r;
  for (std::size_t i = 0; i < time_s.size(); ++i) {
    if (!std::isfinite(values[i]) || !std::isfinite(time_s[i])) continue;
    if (!time_.empty() && !(time_s[i] > time_.back())) throw std::logic_error("times must rise");
    time_.push_back(time_s[i]);
    r.push_back(values[i]);
  }
  if (time_.size() < 2) throw std::logic_error("a filter needs two rows");
  before_ = before.value_or(r.front());
  pieces_.resize(time_.size());
  const auto slope =
      interpolation == Interpolation::cubic ? bessel_slopes(time_, r) : std::vector<double>{};
  for (std::size_t k = 0; k + 1 < time_.size(); ++k) {
    const double h = time_[k + 1] - time_[k], chord = (r[k + 1] - r[k]) / h;
    if (interpolation == Interpolation::linear) {
      pieces_[k] = {r[k], chord, 0, 0};
      continue;
    }
    pieces_[k] = {r[k], slope[k], (3 * chord - 2 * slope[k] - slope[k + 1]) / h,
                  (slope[k] + slope[k + 1] - 2 * chord) / (h * h)};
  }
  pieces_.back() = {r.back(), 0, 0, 0};
}

/// Reads y or its integral at times that do not decrease.
class PathFilter::Reader {
 public:
  Reader(const PathFilter& path, const State& state)
      : path_(path), state_(state), decay_(state.tau) {}

  double y(double t) {
    if (t <= path_.time_.front()) return path_.before_;
    const std::size_t k = seek(t);
    return inside(k, t - path_.time_[k]);
  }
  /// From the first row on; negative before it.
  double integral(double t) {
    const double from_first = t - path_.time_.front();
    if (from_first <= 0) return path_.before_ * from_first;
    const std::size_t k = seek(t);
    const double u = t - path_.time_[k];
    const Piece& p = path_.pieces_[k];
    const double of_r = u * (p.a + u * (p.b / 2 + u * (p.c / 3 + u * p.e / 4)));
    return state_.integral[k] + of_r - state_.tau * (inside(k, u) - state_.y[k]);
  }
  double inside(std::size_t k, double u) {
    const Piece& p = path_.pieces_[k];
    const double tau = state_.tau;
    const double r = p.a + u * (p.b + u * (p.c + u * p.e));
    const double r1 = p.b + u * (2 * p.c + 3 * u * p.e), r2 = 2 * p.c + 6 * u * p.e, r3 = 6 * p.e;
    const double at_start = p.a - tau * (p.b - tau * (2 * p.c - tau * r3));
    return r - tau * (r1 - tau * (r2 - tau * r3)) + (state_.y[k] - at_start) * decay_(u);
  }

 private:
  std::size_t seek(double t) {
    while (k_ + 1 < path_.time_.size() && path_.time_[k_ + 1] <= t) ++k_;
    return k_;
  }
  const PathFilter& path_;
  const State& state_;
  Decay decay_;
  std::size_t k_ = 0;
};

PathFilter::State PathFilter::solve(double tau) const {
  const std::size_t n = time_.size();
  State state{tau, std::vector<double>(n), std::vector<double>(n)};
  // Without mixing the jump from `before` to the first value is there at once.
  state.y[0] = tau > 0 ? before_ : pieces_[0].a;
  Reader reader(*this, state);
  for (std::size_t k = 0; k + 1 < n; ++k) {
    const double h = time_[k + 1] - time_[k];
    const Piece& p = pieces_[k];
    state.y[k + 1] = reader.inside(k, h);
    const double of_r = h * (p.a + h * (p.b / 2 + h * (p.c / 3 + h * p.e / 4)));
    state.integral[k + 1] = state.integral[k] + of_r - tau * (state.y[k + 1] - state.y[k]);
  }
  return state;
}

std::vector<double> PathFilter::apply(double delay_s, double mixing_s, std::span<const double> at,
                                      double averaging_s) const {
  const State state = solve(mixing_s);
  std::vector<double> out;
  out.reserve(at.size());
  if (!(averaging_s > 0)) {
    Reader reader(*this, state);
    for (const double t : at) out.push_back(reader.y(t - delay_s));
    return out;
  }
  Reader begin(*this, state), end(*this, state);
  for (const double t : at) {
    const double middle = t - delay_s;
    out.push_back(
        (end.integral(middle + averaging_s / 2) - begin.integral(middle - averaging_s / 2)) /
        averaging_s);
  }
  return out;
}

std::vector<double> noise_adjoint(std::span<const double> time_s, double delay_s, double mixing_s,
                                  std::span<const double> at, std::span<const double> x) {
  const std::size_t n = time_s.size();
  std::vector<double> pending(n), out(n);
  // y between two rows as a straight line: scatter each x to the rows around its time.
  std::size_t k = 0;
  for (std::size_t j = 0; j < at.size(); ++j) {
    const double t = at[j] - delay_s;
    if (t <= time_s.front()) continue;  // before the first row r stands still at a mean
    while (k + 2 < n && time_s[k + 1] <= t) ++k;
    const double part = std::min((t - time_s[k]) / (time_s[k + 1] - time_s[k]), 1.0);
    pending[k] += x[j] * (1 - part);
    pending[k + 1] += x[j] * part;
  }
  // y[k+1] = a y[k] + b0 r[k] + b1 r[k+1], read backwards.
  double carried = 0;
  Decay decay(mixing_s);
  for (std::size_t i = n; i-- > 1;) {
    const double h = time_s[i] - time_s[i - 1], a = decay(h);
    const double share = mixing_s > 0 ? mixing_s / h * (1 - a) : 0;
    carried += pending[i];
    out[i] += (1 - share) * carried;
    out[i - 1] += (share - a) * carried;
    carried *= a;
  }
  return out;
}

double noise_gain(std::span<const double> time_s, double delay_s, double mixing_s,
                  std::span<const double> at, std::span<const double> x) {
  const auto out = noise_adjoint(time_s, delay_s, mixing_s, at, x);
  return std::inner_product(out.begin(), out.end(), out.begin(), 0.0);
}

}  // namespace leafwright
