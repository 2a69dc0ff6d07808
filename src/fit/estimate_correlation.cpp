#include "fit/estimate_correlation.hpp"

#include <Eigen/Dense>
#include <array>
#include <cmath>
#include <vector>

namespace leafwright {
namespace {

constexpr std::size_t parameters = 4;  // Vcmax, J, TPU, Rday

/// dA/d(Vcmax, J, TPU, Rday) of a row in its state.
std::array<double, parameters> gradient(const CurveFit& fit, const FittedRow& row) {
  const double C = row.Ci, G = fit.kinetics.gamma_star;
  std::array<double, parameters> out{0, 0, 0, -1};
  if (row.state == Limitation::rubisco) {
    out[0] = (C - G) / (C + fit.kinetics.Km);
  } else if (row.state == Limitation::rubp) {
    out[1] = (C - G) / (fit.electrons.carboxylation * C + fit.electrons.oxygenation * G);
  } else {
    out[2] = 3 * (C - G) / (C - (1 + 3 * fit.alpha) * G);
  }
  return out;
}

}  // namespace

EstimateCorrelations estimate_correlations(const CurveFit& fit) {
  EstimateCorrelations none;
  if (fit.c4 || fit.gm || fit.theta || fit.kinetics_per_row || fit.df == 0) return none;
  std::array<bool, parameters> free{};
  free[3] = fit.Rday.se.has_value() && fit.Rday.status != Status::fixed;
  for (const FittedRow& row : fit.rows) {
    const auto g = gradient(fit, row);
    for (std::size_t k = 0; k < 3; ++k) free[k] = free[k] || g[k] != 0;
  }
  std::array<Eigen::Index, parameters> column{};
  Eigen::Index columns = 0;
  for (std::size_t k = 0; k < parameters; ++k) column[k] = free[k] ? columns++ : -1;
  const auto rows = static_cast<Eigen::Index>(fit.rows.size());
  if (columns == 0 || rows <= columns) return none;
  Eigen::MatrixXd X = Eigen::MatrixXd::Zero(rows, columns);
  for (Eigen::Index i = 0; i < rows; ++i) {
    const auto g = gradient(fit, fit.rows[static_cast<std::size_t>(i)]);
    for (std::size_t k = 0; k < parameters; ++k) {
      if (free[k]) X(i, column[k]) = g[k];
    }
  }
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(X);
  if (qr.rank() < columns) return none;
  const Eigen::MatrixXd covariance = (X.transpose() * X).inverse();
  const auto correlation = [&](std::size_t a, std::size_t b) -> std::optional<double> {
    if (!free[a] || !free[b]) return {};
    return covariance(column[a], column[b]) /
           std::sqrt(covariance(column[a], column[a]) * covariance(column[b], column[b]));
  };
  return {correlation(0, 1), correlation(0, 3), correlation(1, 3)};
}

}  // namespace leafwright
