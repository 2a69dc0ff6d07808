#include "fit/correlation.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

Eigen::Map<const Matrix> matrix_of(const Design& d) {
  return {d.X.data(), static_cast<Eigen::Index>(d.rows),
          static_cast<Eigen::Index>(d.columns.size())};
}

/// (X'X)^-1 by a rank-revealing QR; empty where X is rank deficient.
std::optional<Matrix> inverse_gram(const Matrix& X) {
  const Eigen::ColPivHouseholderQR<Matrix> qr(X);
  if (qr.rank() < X.cols()) return {};
  const Matrix R = qr.matrixR().topRows(X.cols()).template triangularView<Eigen::Upper>();
  const Matrix Ri = R.triangularView<Eigen::Upper>().solve(Matrix::Identity(X.cols(), X.cols()));
  const Matrix P = qr.colsPermutation();
  return Matrix(P * Ri * Ri.transpose() * P.transpose());
}

/// Takes the sums of the k-th off-diagonals of a b' (both sides for k > 0) from `sums`. The matrix
/// itself is never formed: a ramp has hundreds of rows.
void take_diagonals(const Matrix& a, const Matrix& b, std::vector<double>& sums) {
  const Eigen::Index n = a.rows();
  for (Eigen::Index c = 0; c < a.cols(); ++c) {
    const Eigen::VectorXd x = a.col(c), y = b.col(c);
    sums[0] -= x.dot(y);
    for (Eigen::Index k = 1; k < n; ++k) {
      sums[static_cast<std::size_t>(k)] -=
          x.head(n - k).dot(y.tail(n - k)) + x.tail(n - k).dot(y.head(n - k));
    }
  }
}

/// S M, with S_ij = 1/2 for |i - j| = 1.
Matrix lag_times(const Matrix& m) {
  Matrix out = Matrix::Zero(m.rows(), m.cols());
  const Eigen::Index last = m.rows() - 1;
  out.topRows(last) += 0.5 * m.bottomRows(last);
  out.bottomRows(last) += 0.5 * m.topRows(last);
  return out;
}

}  // namespace

Design make_design(const C3Problem& p, const ExactSolution& solution) {
  Design d;
  d.rows = p.size();
  const bool fraction = p.rday_mode == RdayMode::fraction && p.rday_value > 0;
  std::vector<Limitation> states(d.rows);
  std::array<std::size_t, 3> counts{};
  for (std::size_t i = 0; i < d.rows; ++i) {
    states[i] = limiting_state(p, i, solution.leaf);
    ++counts[static_cast<std::size_t>(states[i])];
  }
  if (counts[0] > 0 || fraction) d.columns.push_back(Parameter::Vcmax);
  if (counts[1] > 0) d.columns.push_back(Parameter::J);
  if (counts[2] > 0) d.columns.push_back(Parameter::TPU);
  if (p.rday_mode == RdayMode::free && !solution.rday_at_zero) {
    d.columns.push_back(Parameter::Rday);
  }
  for (std::size_t i = 0; i < d.rows; ++i) {
    const double root = std::sqrt(p.w[i]);
    for (const Parameter column : d.columns) {
      double x = 0;
      if (column == Parameter::Vcmax && states[i] == Limitation::rubisco) x += p.xc[i];
      if (column == Parameter::Vcmax && fraction) x -= p.rday_value * p.d[i];
      if (column == Parameter::J && states[i] == Limitation::rubp) x = p.xj[i];
      if (column == Parameter::TPU && states[i] == Limitation::tpu) x = p.xp[i];
      if (column == Parameter::Rday) x = -p.d[i];
      d.X.push_back(root * x);
    }
    d.residuals.push_back(root * (p.A[i] - modelled_rate(p, i, solution.leaf)));
  }
  return d;
}

double CorrelationProfile::expected(double rho) const {
  double power = 1, top = 0, bottom = 0;
  for (std::size_t k = 0; k < plain.size(); ++k) {
    top += power * lagged[k];
    bottom += power * plain[k];
    power *= rho;
  }
  return top / bottom;
}

std::optional<CorrelationProfile> correlation_profile(const Design& d) {
  if (d.rows < 5 || d.rows <= d.columns.size() + 1) return {};
  double ee = 0, ese = 0;
  for (std::size_t i = 0; i < d.rows; ++i) {
    ee += d.residuals[i] * d.residuals[i];
    if (i > 0) ese += d.residuals[i] * d.residuals[i - 1];
  }
  if (!(ee > 0)) return {};
  const Matrix X = matrix_of(d);
  const auto gram = inverse_gram(X);
  if (!gram) return {};
  // M = I - Y X' and M S M = S - Z Y' - Y Z' + Y (X' Z) Y' with Y = X G and Z = S X.
  const Matrix Y = X * *gram, Z = lag_times(X);
  CorrelationProfile out;
  out.plain.assign(d.rows, 0);
  out.plain[0] = static_cast<double>(d.rows);
  take_diagonals(Y, X, out.plain);
  out.lagged.assign(d.rows, 0);
  out.lagged[1] = static_cast<double>(d.rows - 1);
  take_diagonals(2 * Z - Y * (X.transpose() * Z), Y, out.lagged);
  out.observed = ese / ee;
  return out;
}

std::optional<double> estimate_correlation(std::span<const CorrelationProfile> curves) {
  if (curves.size() < 5) return {};
  double observed = 0;
  for (const CorrelationProfile& c : curves) observed += c.observed;
  const auto excess = [&](double rho) {
    double sum = 0;
    for (const CorrelationProfile& c : curves) sum += c.expected(rho);
    return sum - observed;
  };
  double lo = 0, hi = 0.98;
  if (excess(lo) >= 0) return 0.0;
  if (excess(hi) <= 0) return hi;
  for (int k = 0; k < 40; ++k) {
    const double mid = (lo + hi) / 2;
    (excess(mid) < 0 ? lo : hi) = mid;
  }
  return (lo + hi) / 2;
}

double Widening::largest() const {
  return factor.empty() ? 0 : *std::max_element(factor.begin(), factor.end());
}

std::optional<Widening> widen(const Design& d, double rho) {
  if (d.rows <= d.columns.size() || d.columns.empty()) return {};
  const Matrix X = matrix_of(d);
  const auto gram = inverse_gram(X);
  if (!gram) return {};
  const Eigen::Index n = X.rows();
  Matrix R(n, n);
  std::vector<double> power(static_cast<std::size_t>(n), 1.0);
  for (std::size_t k = 1; k < power.size(); ++k) power[k] = power[k - 1] * rho;
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) R(i, j) = power[static_cast<std::size_t>(std::abs(i - j))];
  }
  // MR = R - X G (X'R); its traces without forming products of n x n matrices twice.
  const Matrix RX = R * X;
  const Matrix MR = R - X * (*gram * RX.transpose());
  const double trace = MR.trace();
  const double trace2 = (MR.array() * MR.transpose().array()).sum();
  const Matrix HRH = *gram * (X.transpose() * RX) * *gram;
  if (!(trace > 0) || !(trace2 > 0)) return {};
  Widening out;
  out.df = trace * trace / trace2;
  for (Eigen::Index k = 0; k < X.cols(); ++k) {
    out.factor.push_back(HRH(k, k) / ((*gram)(k, k) * trace));
  }
  return out;
}

RunsAndOutliers check_residuals(const Design& d) {
  RunsAndOutliers out;
  double plus = 0, minus = 0, runs = 0;
  for (std::size_t i = 0; i < d.rows; ++i) {
    const bool up = d.residuals[i] >= 0;
    (up ? plus : minus) += 1;
    if (i == 0 || up != (d.residuals[i - 1] >= 0)) runs += 1;
  }
  const double n = plus + minus;
  if (n >= 8 && plus > 0 && minus > 0) {
    const double mean = 2 * plus * minus / n + 1;
    const double variance = (mean - 1) * (mean - 2) / (n - 1);
    // Continuity correction of one half.
    const double z = std::max(0.0, std::abs(runs - mean) - 0.5) / std::sqrt(variance);
    out.runs_p = std::min(1.0, 2 * normal_upper(z));
  }
  if (d.rows <= d.columns.size()) return out;
  const Matrix X = matrix_of(d);
  const auto gram = inverse_gram(X);
  double ssr = 0;
  for (const double e : d.residuals) ssr += e * e;
  const double s = std::sqrt(ssr / static_cast<double>(d.rows - d.columns.size()));
  if (!gram || !(s > 0)) return out;
  double largest = 0;
  for (Eigen::Index i = 0; i < X.rows(); ++i) {
    const double leverage = X.row(i) * *gram * X.row(i).transpose();
    if (leverage > 1 - 1e-9) continue;  // a row fitted exactly by its own parameter
    const double e = d.residuals[static_cast<std::size_t>(i)];
    largest = std::max(largest, std::abs(e) / (s * std::sqrt(1 - leverage)));
  }
  out.largest = largest;
  const double df = static_cast<double>(d.rows - d.columns.size());
  if (df < 2) return out;
  const double left = df - largest * largest;
  const double t = left > 0 ? largest * std::sqrt((df - 1) / left) : INFINITY;
  out.outlier_p = std::min(1.0, 2 * static_cast<double>(d.rows) * t_upper(t, df - 1));
  return out;
}

}  // namespace leafwright
