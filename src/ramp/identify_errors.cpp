#include <algorithm>
#include <cmath>

#include "ramp/identify_model.hpp"

namespace leafwright::identify_detail {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Derivative of the model by one unknown, the offset's dependence on the matched CO2 included.
VectorXd derivative(const PathData& data, const PathPoint& at, const VectorXd& stretch,
                    double PathPoint::*unknown, double step) {
  PathPoint up = at, down = at;
  up.*unknown += step;
  down.*unknown = std::max(down.*unknown - step, unknown == &PathPoint::lag ? -1e300 : 0.0);
  const double width = up.*unknown - down.*unknown;
  return ((data.matched(up) - data.matched(down)) / width).cwiseProduct(stretch);
}

/// K b with K_ij = exp(-|t_i - t_j|/time), in two sweeps.
std::vector<double> drift_times(const std::vector<double>& t, const std::vector<double>& b,
                                double time) {
  const std::size_t n = b.size();
  std::vector<double> out(n);
  double carried = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (i > 0) carried *= std::exp(-(t[i] - t[i - 1]) / time);
    carried += b[i];
    out[i] = carried;
  }
  carried = 0;
  for (std::size_t i = n; i-- > 0;) {
    out[i] += carried;
    if (i > 0) carried = (carried + b[i]) * std::exp(-(t[i] - t[i - 1]) / time);
  }
  return out;
}

/// B' Sigma B for each part of the noise, B with one row per stacked row: white, R's, drift's.
struct NoiseParts {
  MatrixXd white, of_R, drift;
  NoiseParts(const PathData& data, const PathPoint& at, const MatrixXd& B, double drift_time) {
    const Index p = B.cols();
    white = B.transpose() * B;
    of_R = MatrixXd::Zero(p, p);
    drift = MatrixXd::Zero(p, p);
    for (const FitRecord& fit : data.records()) {
      const auto n = static_cast<Index>(fit.rows.size());
      const auto first = static_cast<Index>(fit.first);
      MatrixXd G(static_cast<Index>(fit.time_R.size()), p), K(n, p);
      for (Index j = 0; j < p; ++j) {
        const VectorXd column = B.col(j).segment(first, n);
        const std::vector<double> b(column.begin(), column.end());
        const auto g = noise_adjoint(fit.time_R, at.lag - at.mixing, at.mixing, fit.time, b);
        G.col(j) = Eigen::Map<const VectorXd>(g.data(), static_cast<Index>(g.size()));
        const auto k = drift_times(fit.time, b, drift_time);
        K.col(j) = Eigen::Map<const VectorXd>(k.data(), n);
      }
      of_R += G.transpose() * G;
      drift += B.middleRows(first, n).transpose() * K;
    }
  }
};

/// Variance that white noise of R leaves in one filtered row, averaged over three of each record,
/// summed over rows.
double noise_gain_of_all(const PathData& data, const PathPoint& at) {
  double sum = 0;
  for (const FitRecord& fit : data.records()) {
    if (fit.rows.size() < 8) continue;
    double mean = 0;
    for (const std::size_t quarter : {2U, 3U, 4U}) {
      std::vector<double> unit(fit.rows.size());
      unit[fit.rows.size() * quarter / 5] = 1;
      mean += noise_gain(fit.time_R, at.lag - at.mixing, at.mixing, fit.time, unit) / 3;
    }
    sum += mean * static_cast<double>(fit.rows.size());
  }
  return sum;
}

/// Mean square of the means of residuals over blocks of 15 s, and how many there are.
std::pair<double, double> block_square(const PathData& data, const VectorXd& residuals) {
  double sum = 0, blocks = 0;
  for (const FitRecord& fit : data.records()) {
    std::size_t i = 0;
    while (i < fit.rows.size()) {
      double mean = 0, n = 0;
      const double until = fit.time[i] + 15;
      for (; i < fit.rows.size() && fit.time[i] < until; ++i) {
        mean += residuals[static_cast<Index>(fit.first + i)];
        n += 1;
      }
      sum += mean * mean / n;
      blocks += 1;
    }
  }
  return {sum / std::max(blocks, 1.0), blocks};
}

}  // namespace

MatrixXd design_at(const PathData& data, const PathPoint& at, const PathData::Fit& fit,
                   const FreeColumns& free) {
  const MatrixXd X = data.offsets(fit.matched);
  // d(offset)/dM by a difference: the polynomial is of second order, so this is exact.
  const VectorXd ones = VectorXd::Ones(data.size());
  const VectorXd stretch =
      ones +
      (data.offsets(fit.matched + ones) - data.offsets(fit.matched - ones)) * fit.coefficients / 2;
  std::vector<VectorXd> columns;
  if (free.lag) columns.push_back(derivative(data, at, stretch, &PathPoint::lag, 1e-3));
  if (free.mixing) columns.push_back(derivative(data, at, stretch, &PathPoint::mixing, 1e-3));
  if (free.averaging) {
    columns.push_back(derivative(data, at, stretch, &PathPoint::averaging, 1e-2));
  }
  MatrixXd out(data.size(), static_cast<Index>(columns.size()) + X.cols());
  for (std::size_t j = 0; j < columns.size(); ++j) out.col(static_cast<Index>(j)) = columns[j];
  out.rightCols(X.cols()) = X;
  return out;
}

ErrorModel errors_of(const PathData& data, const PathPoint& at, const PathData::Fit& fit,
                     const MatrixXd& design, const IdentifyOptions& options) {
  ErrorModel out;
  const Index p = design.cols();
  // Rank is decided by the caller; columns are scaled so that the inverse is not.
  const Eigen::ColPivHouseholderQR<MatrixXd> qr(design);
  const MatrixXd Q = qr.householderQ() * MatrixXd::Identity(data.size(), p);
  const MatrixXd R = qr.matrixR().topLeftCorner(p, p).triangularView<Eigen::Upper>();
  const MatrixXd inverse = R.triangularView<Eigen::Upper>().solve(MatrixXd::Identity(p, p));
  const MatrixXd back = qr.colsPermutation() * inverse;  // theta = back * Q' y

  const NoiseParts parts(data, at, Q, options.drift_time_s);
  for (const FitRecord& record : data.records()) {
    const double noise = noise_of(record.record->CO2r);
    out.noise_R += noise * noise / static_cast<double>(data.records().size());
  }
  const auto n = static_cast<double>(data.size());
  const double df = std::max(n - static_cast<double>(p), 1.0);
  const double gain = noise_gain_of_all(data, at);
  const double drift = options.drift_sd * options.drift_sd;
  // E[SSR] = tr(M Sigma), solved for the white part of S.
  double of_R = out.noise_R * (gain - parts.of_R.trace());
  const double of_drift = drift * (n - parts.drift.trace());
  if (of_R > fit.ssr) {  // more than the residuals allow: both cells saw it, so it was in the gas
    out.noise_R *= fit.ssr / of_R;
    of_R = fit.ssr;
  }
  const double white = std::max((fit.ssr - of_R - of_drift) / df, 0.0);
  const MatrixXd sigma = white * parts.white + out.noise_R * parts.of_R + drift * parts.drift;
  const auto [slow, blocks] = block_square(data, fit.residuals);
  const double expected =
      (sigma.trace() > 0
           ? (white + out.noise_R) + drift * 15 / usual_interval(*data.records()[0].record)
           : 0);
  out.misfit = expected > 0 && blocks >= 8 ? slow / expected : 1;
  out.covariance = back * sigma * back.transpose();
  if (out.misfit > 2) out.covariance *= out.misfit;
  out.noise_S = std::sqrt(white);
  out.noise_R = std::sqrt(out.noise_R);
  return out;
}

}  // namespace leafwright::identify_detail
