#include "ramp/filter.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <stdexcept>

namespace leafwright {

namespace {

/// Inverse of the symmetric 3 x 3 matrix of sums of powers 0 to 4, first two rows.
std::array<std::array<double, 3>, 2> inverse_rows(const std::array<double, 5>& m) {
  const double a = m[0], b = m[1], c = m[2], d = m[2], e = m[3], f = m[4];
  const double A = d * f - e * e, B = c * e - b * f, C = b * e - c * d;
  const double det = a * A + b * B + c * C;
  const double D = a * f - c * c, E = b * c - a * e;
  return {{{A / det, B / det, C / det}, {B / det, D / det, E / det}}};
}

WindowRow window_row(std::span<const double> time, std::size_t at, double half) {
  std::size_t first = at, last = at;
  while (first > 0 && time[at] - time[first - 1] <= half) --first;
  while (last + 1 < time.size() && time[last + 1] - time[at] <= half) ++last;
  while (last - first < 2) {
    const bool down = first > 0;
    const bool up = last + 1 < time.size();
    if (down && (!up || time[at] - time[first - 1] <= time[last + 1] - time[at])) {
      --first;
    } else {
      ++last;
    }
  }
  // Times in units of the window keep the sums of powers near 1.
  const double scale = std::max(time[at] - time[first], time[last] - time[at]);
  std::array<double, 5> m{};
  for (std::size_t i = first; i <= last; ++i) {
    const double x = (time[i] - time[at]) / scale;
    double power = 1;
    for (double& sum : m) {
      sum += power;
      power *= x;
    }
  }
  const auto inverse = inverse_rows(m);
  WindowRow row;
  row.first = first;
  for (std::size_t i = first; i <= last; ++i) {
    const double x = (time[i] - time[at]) / scale;
    row.value.push_back(inverse[0][0] + x * (inverse[0][1] + x * inverse[0][2]));
    row.slope.push_back((inverse[1][0] + x * (inverse[1][1] + x * inverse[1][2])) / scale);
  }
  return row;
}

}  // namespace

QuadraticWindow::QuadraticWindow(std::span<const double> time_s, double width_s) {
  if (time_s.size() < 3) throw std::logic_error("a quadratic needs three rows");
  rows_.reserve(time_s.size());
  for (std::size_t i = 0; i < time_s.size(); ++i) {
    rows_.push_back(window_row(time_s, i, width_s / 2 + 1e-9));
  }
}

std::vector<double> QuadraticWindow::smooth(std::span<const double> y) const {
  std::vector<double> out(rows_.size());
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    for (std::size_t k = 0; k < rows_[i].value.size(); ++k) {
      out[i] += rows_[i].value[k] * y[rows_[i].first + k];
    }
  }
  return out;
}

std::vector<double> QuadraticWindow::slope(std::span<const double> y) const {
  std::vector<double> out(rows_.size());
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    for (std::size_t k = 0; k < rows_[i].slope.size(); ++k) {
      out[i] += rows_[i].slope[k] * y[rows_[i].first + k];
    }
  }
  return out;
}

std::vector<double> QuadraticWindow::smooth_adjoint(std::span<const double> x) const {
  std::vector<double> out(rows_.size());
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    for (std::size_t k = 0; k < rows_[i].value.size(); ++k) {
      out[rows_[i].first + k] += rows_[i].value[k] * x[i];
    }
  }
  return out;
}

std::vector<double> QuadraticWindow::slope_adjoint(std::span<const double> x) const {
  std::vector<double> out(rows_.size());
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    for (std::size_t k = 0; k < rows_[i].slope.size(); ++k) {
      out[rows_[i].first + k] += rows_[i].slope[k] * x[i];
    }
  }
  return out;
}

std::vector<double> running_mean(std::span<const double> time_s, std::span<const double> y,
                                 double width_s) {
  std::vector<double> out(y.begin(), y.end());
  if (!(width_s > 0)) return out;
  std::size_t first = 0, last = 0, count = 0;
  double sum = 0;
  const auto add = [&](std::size_t i, double sign) {
    if (!std::isfinite(y[i])) return;
    sum += sign * y[i];
    sign > 0 ? ++count : --count;
  };
  for (std::size_t i = 0; i < y.size(); ++i) {
    while (last < y.size() && time_s[last] <= time_s[i] + width_s / 2) add(last++, 1);
    while (time_s[first] < time_s[i] - width_s / 2) add(first++, -1);
    out[i] = count > 0 ? sum / static_cast<double>(count) : std::nan("");
  }
  return out;
}

std::vector<double> bridged(std::span<const double> time_s, std::span<const double> y) {
  std::vector<double> out(y.begin(), y.end());
  std::optional<std::size_t> before;
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (!std::isfinite(y[i])) continue;
    for (std::size_t j = before ? *before + 1 : 0; j < i; ++j) {
      const double share =
          before ? (time_s[j] - time_s[*before]) / (time_s[i] - time_s[*before]) : 1;
      out[j] = before ? y[*before] + share * (y[i] - y[*before]) : y[i];
    }
    before = i;
  }
  if (before)
    std::fill(out.begin() + static_cast<std::ptrdiff_t>(*before) + 1, out.end(), y[*before]);
  return out;
}

}  // namespace leafwright
