#include "ramp/covariance.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "ramp/gas_path_filter.hpp"

namespace leafwright {

namespace {

double dot(const std::vector<double>& a, const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

/// a' M b, M row by row.
double quadratic(const std::vector<double>& a, const std::vector<double>& M,
                 const std::vector<double>& b) {
  double sum = 0;
  for (std::size_t k = 0; k < a.size(); ++k) {
    for (std::size_t l = 0; l < b.size(); ++l) sum += a[k] * M[k * b.size() + l] * b[l];
  }
  return sum;
}

constexpr std::size_t sampled_rows = 48;

}  // namespace

RampErrors::RampErrors(RampErrorInputs inputs) : in_(std::move(inputs)) {
  if (in_.route.window_s) window_.emplace(in_.time, *in_.route.window_s);
}

std::vector<double> RampErrors::on_R(const Weights& w) const {
  std::vector<double> x(in_.time.size());
  for (std::size_t i = 0; i < x.size(); ++i) x[i] = in_.gain[i] * w.on_A[i];
  if (window_) x = window_->smooth_adjoint(x);
  if (in_.route.delay_s == 0 && in_.route.mixing_s == 0) return x;
  return noise_adjoint(in_.time_R, in_.route.delay_s, in_.route.mixing_s, in_.time, x);
}

std::vector<double> RampErrors::on_S(const Weights& w) const {
  const std::size_t n = in_.time.size();
  std::vector<double> level(n), slope(n), out(n);
  for (std::size_t i = 0; i < n; ++i) {
    level[i] = -in_.gain[i] * in_.dilution[i] * w.on_A[i];
    slope[i] = in_.route.derivative_s * level[i];
  }
  if (window_) {
    for (std::size_t i = 0; i < n; ++i) level[i] += w.on_C[i];
    out = window_->smooth_adjoint(level);
    const std::vector<double> of_slope = window_->slope_adjoint(slope);
    for (std::size_t i = 0; i < n; ++i) out[i] += of_slope[i];
    return out;
  }
  const std::vector<double> paired =
      in_.route.pairing_s > 0 ? noise_adjoint(in_.time, 0, in_.route.pairing_s, in_.time, w.on_C)
                              : w.on_C;
  for (std::size_t i = 0; i < n; ++i) out[i] = level[i] + paired[i];
  return out;
}

/// What one unit of each path number does to the sum.
std::vector<double> RampErrors::by_path(const Weights& w) const {
  std::vector<double> out(in_.A_by_path.size());
  for (std::size_t k = 0; k < out.size(); ++k) {
    out[k] = dot(w.on_A, in_.A_by_path[k]) + dot(w.on_C, in_.C_by_path[k]);
  }
  return out;
}

/// K x for the kernel sd^2 exp(-|dt|/time), in two passes (it is Markov).
std::vector<double> RampErrors::drifted(std::span<const double> time,
                                        const std::vector<double>& x) const {
  const std::size_t n = x.size();
  std::vector<double> out(n);
  double carried = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (i > 0) carried *= std::exp(-(time[i] - time[i - 1]) / in_.drift_time_s);
    carried += x[i];
    out[i] = carried;
  }
  carried = 0;
  for (std::size_t i = n; i-- > 0;) {
    out[i] += carried;
    if (i > 0) {
      carried = (carried + x[i]) * std::exp(-(time[i] - time[i - 1]) / in_.drift_time_s);
    }
  }
  for (double& value : out) value *= in_.drift_sd * in_.drift_sd;
  return out;
}

/// What the weighted sum makes of each point of the empty record.
std::vector<double> RampErrors::on_looked_up(const Weights& w) const {
  if (!in_.looked_up) return {};
  std::vector<double> out(in_.looked_up->variance.size());
  for (std::size_t i = 0; i < w.on_A.size(); ++i) {
    const WindowRow& from = in_.looked_up->from[i];
    const double x = in_.gain[i] * w.on_A[i];
    for (std::size_t k = 0; k < from.value.size(); ++k) out[from.first + k] += x * from.value[k];
  }
  return out;
}

/// Covariance of two sums over the points of the empty record.
double RampErrors::looked_up_share(const std::vector<double>& a,
                                   const std::vector<double>& b) const {
  if (!in_.looked_up) return 0;
  const LookedUp& D = *in_.looked_up;
  double sum = 0;
  std::vector<double> time, of_a, of_b;
  for (const std::size_t j : D.in_time) {
    sum += a[j] * D.variance[j] * b[j];
    time.push_back(D.time_s[j]);
    of_a.push_back(a[j]);
    of_b.push_back(b[j]);
  }
  return sum + dot(of_a, drifted(time, of_b));
}

/// Of D at one row. Its points lie within seconds, so that drift moves them as one.
double RampErrors::looked_up_variance(std::size_t row) const {
  if (!in_.looked_up) return 0;
  const WindowRow& from = in_.looked_up->from[row];
  double sum = from.value.empty() ? 0 : in_.drift_sd * in_.drift_sd;
  for (std::size_t k = 0; k < from.value.size(); ++k) {
    sum += from.value[k] * from.value[k] * in_.looked_up->variance[from.first + k];
  }
  return sum;
}

std::vector<PointErrors> RampErrors::points() const {
  const std::size_t n = in_.time.size();
  std::vector<PointErrors> out(n);
  // Gains of the filters change with the spacing of rows only: some rows stand for their
  // neighbours.
  const std::size_t step = std::max<std::size_t>(1, n / sampled_rows);
  Weights A, C;
  A.on_A.assign(n, 0);
  A.on_C.assign(n, 0);
  C = A;
  double AA = 0, CC = 0, AC = 0;
  std::vector<double> of_A(in_.A_by_path.size()), of_C(in_.A_by_path.size());
  for (std::size_t i = 0; i < n; ++i) {
    A.on_A[i] = 1;
    C.on_C[i] = 1;
    if (i % step == 0) {
      const auto AR = on_R(A), AS = on_S(A), CS = on_S(C);
      const double R2 = in_.sd_R * in_.sd_R, S2 = in_.sd_S * in_.sd_S,
                   D2 = in_.drift_sd * in_.drift_sd;
      const double k = in_.gain[i], dil = in_.dilution[i];
      AA = (R2 * dot(AR, AR) + S2 * dot(AS, AS)) / (k * k) + D2 * dil * dil;
      CC = S2 * dot(CS, CS) + D2;
      AC = S2 * dot(AS, CS) / k - D2 * dil;
    }
    const double k = in_.gain[i], m = in_.to_moist[i];
    // by_path of a single row, whose sum over all rows has one term.
    for (std::size_t j = 0; j < of_A.size(); ++j) {
      of_A[j] = in_.A_by_path[j][i];
      of_C[j] = in_.C_by_path[j][i];
    }
    const auto path = [this](const auto& a, const auto& b) {
      return quadratic(a, in_.path_covariance, b);
    };
    const double var_A = k * k * (AA + looked_up_variance(i)) + path(of_A, of_A);
    const double var_C = m * m * (CC + path(of_C, of_C));
    const double cov = m * (k * AC + path(of_A, of_C));
    A.on_A[i] = 0;
    C.on_C[i] = 0;
    const double p = in_.g_plus[i], q = in_.g_minus[i];
    const double var_Ci = (q * q * var_C + var_A - 2 * q * cov) / (p * p);
    out[i] = {std::sqrt(var_A), std::sqrt(std::max(var_Ci, 0.0)), (q * cov - var_A) / p};
  }
  return out;
}

ErrorShares RampErrors::shares(std::span<const std::vector<double>> on_A,
                               std::span<const std::vector<double>> on_Ci) const {
  const std::size_t p = on_A.size(), n = in_.time.size(), q = in_.A_by_path.size();
  ErrorShares out{p, q, std::vector<double>(p * p), std::vector<double>()};
  std::vector<std::vector<double>> R(p), S(p), drift(p), empty(p);
  for (std::size_t a = 0; a < p; ++a) {
    // dCi = [(g - E/2) m dC - dA]/(g + E/2)
    Weights w{std::vector<double>(n), std::vector<double>(n)};
    for (std::size_t i = 0; i < n; ++i) {
      if (on_A[a][i] == 0 && on_Ci[a][i] == 0) continue;
      w.on_A[i] = on_A[a][i] - on_Ci[a][i] / in_.g_plus[i];
      w.on_C[i] = on_Ci[a][i] * in_.to_moist[i] * in_.g_minus[i] / in_.g_plus[i];
    }
    R[a] = on_R(w);
    S[a] = on_S(w);
    drift[a] = drifted(in_.time, S[a]);
    empty[a] = on_looked_up(w);
    const std::vector<double> path = by_path(w);
    out.by_path.insert(out.by_path.end(), path.begin(), path.end());
  }
  const double R2 = in_.sd_R * in_.sd_R, S2 = in_.sd_S * in_.sd_S;
  for (std::size_t a = 0; a < p; ++a) {
    for (std::size_t b = 0; b < p; ++b) {
      out.own[a * p + b] = R2 * dot(R[a], R[b]) + S2 * dot(S[a], S[b]) + dot(S[a], drift[b]) +
                           looked_up_share(empty[a], empty[b]);
    }
  }
  return out;
}

std::vector<double> RampErrors::parameters(std::span<const std::size_t> used,
                                           std::span<const double> slope,
                                           std::span<const std::vector<double>> H) const {
  const std::size_t p = H.size(), n = in_.time.size();
  std::vector<std::vector<double>> on_A(p, std::vector<double>(n)), on_Ci = on_A;
  for (std::size_t a = 0; a < p; ++a) {
    for (std::size_t j = 0; j < used.size(); ++j) {
      // e = dA - A' dCi
      on_A[a][used[j]] = H[a][j];
      on_Ci[a][used[j]] = -H[a][j] * slope[j];
    }
  }
  const RampErrors* self = this;
  return joined_covariance({&self, 1}, {&on_A, 1}, {&on_Ci, 1}, true);
}

std::vector<double> joined_covariance(std::span<const RampErrors* const> records,
                                      std::span<const std::vector<std::vector<double>>> on_A,
                                      std::span<const std::vector<std::vector<double>>> on_Ci,
                                      bool one_path) {
  const std::size_t p = on_A.front().size();
  std::vector<double> out(p * p), together;
  const auto add_path = [&](const std::vector<double>& by_path, const std::vector<double>& of) {
    const std::size_t q = by_path.size() / p;
    const auto row = [&](std::size_t a) {
      const auto first = by_path.begin() + static_cast<std::ptrdiff_t>(a * q);
      return std::vector<double>(first, first + static_cast<std::ptrdiff_t>(q));
    };
    for (std::size_t a = 0; a < p; ++a) {
      for (std::size_t b = 0; b < p; ++b) out[a * p + b] += quadratic(row(a), of, row(b));
    }
  };
  for (std::size_t k = 0; k < records.size(); ++k) {
    const ErrorShares share = records[k]->shares(on_A[k], on_Ci[k]);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] += share.own[i];
    if (!one_path || share.by_path.size() != together.size()) {
      if (!together.empty()) add_path(together, records[k - 1]->path_covariance());
      together = share.by_path;
    } else {
      for (std::size_t i = 0; i < together.size(); ++i) together[i] += share.by_path[i];
    }
  }
  add_path(together, records.back()->path_covariance());
  return out;
}

Result<std::vector<std::vector<double>>> fit_operator(std::span<const double> design,
                                                      std::size_t columns) {
  using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
  const auto p = static_cast<Eigen::Index>(columns);
  const auto n = columns > 0 ? static_cast<Eigen::Index>(design.size() / columns) : 0;
  const Eigen::Map<const RowMajor> X(design.data(), n, p);
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(X);
  if (n < p || p == 0 || qr.rank() < p) {
    return fail(ErrorCode::unfit, "the points do not tell the fitted parameters apart",
                "rows that every parameter limits");
  }
  const Eigen::MatrixXd H = (X.transpose() * X).ldlt().solve(X.transpose());
  std::vector<std::vector<double>> out(columns, std::vector<double>(static_cast<std::size_t>(n)));
  for (Eigen::Index a = 0; a < p; ++a) {
    for (Eigen::Index j = 0; j < n; ++j) {
      out[static_cast<std::size_t>(a)][static_cast<std::size_t>(j)] = H(a, j);
    }
  }
  return out;
}

Result<std::vector<double>> ramp_parameter_covariance(const RampErrors& errors,
                                                      std::span<const std::size_t> used,
                                                      std::span<const double> slope,
                                                      std::span<const double> design,
                                                      std::size_t columns) {
  const auto H = fit_operator(design, columns);
  if (!H) return fail(H.error());
  return errors.parameters(used, slope, *H);
}

}  // namespace leafwright
