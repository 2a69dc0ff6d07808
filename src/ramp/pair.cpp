#include "ramp/pair.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "numeric/distributions.hpp"
#include "numeric/spline_basis.hpp"
#include "ramp/filter.hpp"
#include "ramp/gas_path_filter.hpp"

namespace leafwright {
namespace {

using Matrix = Eigen::MatrixXd;
using Series = std::vector<double>;

/// Of the spline. Narrower ones follow the noise: their slopes pull T away from what it is.
constexpr double interval_width = 50;  // umol/mol
constexpr double fewest_intervals = 3, most_intervals = 16;
constexpr std::size_t fewest_rows = 30;
constexpr double least_range = 200;  // umol/mol
constexpr int most_rounds = 40, settling_rounds = 5;
constexpr double settled_s = 1e-3;  // a hundredth of the error of a good pair
constexpr Eigen::Index extras = 3;

/// One row of one pass, as compared.
struct Row {
  std::size_t ramp = 0, at = 0;
  double sign = 0;  ///< -1/2 up, +1/2 down
  double A = 0, Ci = 0, speed = 0;
};

double median_rate(const Series& Ci, std::span<const std::size_t> rows, const Series& speed) {
  Series of;
  for (const std::size_t i : rows) {
    if (std::isfinite(Ci[i])) of.push_back(std::abs(speed[i]));
  }
  std::nth_element(of.begin(), of.begin() + static_cast<std::ptrdiff_t>(of.size() / 2), of.end());
  return of[of.size() / 2];
}

class PairFit {
 public:
  PairFit(std::span<const CorrectedRamp* const> ramps, const PairOptions& options, RampPair& out)
      : ramps_(ramps), options_(options), out_(out) {
    for (const CorrectedRamp* one : ramps) {
      times_.push_back(&one->errors->time());
      plain_.push_back(bridged(*times_.back(), one->Ci));
    }
    lag_at(0);
  }

  Result<void> common_range() {
    out_.from = -1e300;
    out_.to = 1e300;
    for (const PairPass& pass : out_.passes) {
      double low = 1e300, high = -1e300;
      for (const std::size_t i : pass.rows) {
        low = std::min(low, ramps_[pass.ramp]->Ci[i]);
        high = std::max(high, ramps_[pass.ramp]->Ci[i]);
      }
      out_.from = std::max(out_.from, low);
      out_.to = std::min(out_.to, high);
    }
    if (out_.to - out_.from < least_range) {
      return fail(ErrorCode::unfit,
                  "the passes have " + print_rounded(std::max(out_.to - out_.from, 0.0), 3) +
                      " umol/mol of Ci in common",
                  "at least " + print_rounded(least_range, 3));
    }
    collect();
    for (std::size_t k = 0; k < 2; ++k) {
      if (out_.rows[k] >= fewest_rows) continue;
      return fail(ErrorCode::unfit,
                  "the pass " + out_.passes[k].name + " has " + counted(out_.rows[k], "row") +
                      " in what both passes reached",
                  "at least " + std::to_string(fewest_rows));
    }
    return {};
  }

  /// Gauss-Newton in T, every other parameter by linear least squares at each round.
  Result<void> find_lag() {
    double T = 0;
    Eigen::VectorXd f = solve(spline_columns()).head(basis_size());
    for (int round = 0; round < most_rounds; ++round) {
      // Rows at the ends that come and go with T would keep it from settling.
      if (round < settling_rounds) {
        collect();
      } else {
        refresh();
      }
      const Eigen::VectorXd x = solve(design(f));
      f = x.head(basis_size());
      const double change = x[basis_size()];
      out_.level = x[basis_size() + 1];
      // A stride of more than the lag of a plant is the noise of a flat curve.
      T += std::clamp(change, -10.0, 10.0);
      if (std::abs(T) > 4 * options_.longest_s) break;
      lag_at(T);
      if (std::abs(change) < settled_s && round > settling_rounds) {
        out_.lag_s = T;
        f_ = f;
        return {};
      }
    }
    return fail(ErrorCode::unfit, "the difference of the passes is not that of a lag",
                "passes whose curves are alike", "compare the passes; fit each by itself");
  }

  void errors() {
    refresh();
    const Matrix X = design(f_);
    const Matrix H = operator_of(X).middleRows(basis_size(), 2);
    const Matrix V = covariance(H, true);
    out_.lag_se = std::sqrt(V(0, 0));
    out_.level_se = std::sqrt(V(1, 1));
    out_.level_lag_correlation = V(0, 1) / (out_.lag_se * out_.level_se);
    const double z = normal_quantile(0.5 + options_.level / 2);
    out_.lag_low = out_.lag_s - z * out_.lag_se;
    out_.lag_high = out_.lag_s + z * out_.lag_se;
    symmetry(X);
  }

  void remove(double T) {
    lag_at(T);
    out_.removed_s = T;
    out_.speed = speed_;
    out_.one_path = options_.one_path;
    out_.Ci = lagged_;
    for (std::size_t k = 0; k < ramps_.size(); ++k) {
      for (std::size_t i = 0; i < lagged_[k].size(); ++i) {
        if (!std::isfinite(ramps_[k]->Ci[i])) out_.Ci[k][i] = ramps_[k]->Ci[i];
      }
    }
  }

 private:
  [[nodiscard]] Eigen::Index basis_size() const {
    return static_cast<Eigen::Index>(basis().size());
  }

  /// Ci as the leaf's lag T makes it: F_T * Ci; for a negative T (no leaf has one, noise does) Ci
  /// of so much later.
  void lag_at(double T) {
    T_ = T;
    lagged_.clear();
    speed_.clear();
    for (std::size_t k = 0; k < ramps_.size(); ++k) {
      const PathFilter filter(*times_[k], plain_[k], Interpolation::linear);
      lagged_.push_back(filter.apply(std::min(T, 0.0), std::max(T, 0.0), *times_[k]));
      speed_.push_back(QuadraticWindow(*times_[k], options_.smoothing_s).slope(lagged_[k]));
    }
  }

  void collect() {
    rows_.clear();
    for (std::size_t k = 0; k < 2; ++k) {
      const PairPass& pass = out_.passes[k];
      out_.rows[k] = 0;
      for (const std::size_t i : pass.rows) {
        const double Ci = lagged_[pass.ramp][i];
        if (Ci < out_.from || Ci > out_.to) continue;
        rows_.push_back(
            {pass.ramp, i, k == 0 ? -0.5 : 0.5, ramps_[pass.ramp]->A[i], Ci, speed_[pass.ramp][i]});
        ++out_.rows[k];
      }
    }
  }

  /// The same rows, with the Ci of now.
  void refresh() {
    for (Row& row : rows_) {
      row.Ci = lagged_[row.ramp][row.at];
      row.speed = speed_[row.ramp][row.at];
    }
  }

  [[nodiscard]] CubicSplineBasis basis() const {
    const double wanted = std::round((out_.to - out_.from) / interval_width);
    return {out_.from, out_.to,
            static_cast<std::size_t>(std::clamp(wanted, fewest_intervals, most_intervals))};
  }

  [[nodiscard]] Matrix spline_columns() const {
    Matrix X = Matrix::Zero(static_cast<Eigen::Index>(rows_.size()), basis_size());
    const CubicSplineBasis spline = basis();
    for (std::size_t j = 0; j < rows_.size(); ++j) {
      const SplineValues at = spline.at(rows_[j].Ci);
      for (std::size_t k = 0; k < 4; ++k) {
        X(static_cast<Eigen::Index>(j), static_cast<Eigen::Index>(at.first + k)) = at.value[k];
      }
    }
    return X;
  }

  /// Columns of f, then what one second of lag and one of m do.
  [[nodiscard]] Matrix design(const Eigen::VectorXd& f) const {
    const CubicSplineBasis spline = basis();
    const Matrix B = spline_columns();
    Matrix X(B.rows(), B.cols() + 2);
    X.leftCols(B.cols()) = B;
    for (std::size_t j = 0; j < rows_.size(); ++j) {
      const auto at = static_cast<Eigen::Index>(j);
      X(at, B.cols()) = -slope_of(spline, f, rows_[j].Ci) * rows_[j].speed;
      X(at, B.cols() + 1) = rows_[j].sign * B.row(at).dot(f);
    }
    return X;
  }

  [[nodiscard]] static double slope_of(const CubicSplineBasis& spline, const Eigen::VectorXd& f,
                                       double Ci) {
    const SplineValues at = spline.at(Ci);
    double slope = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      slope += at.slope[k] * f[static_cast<Eigen::Index>(at.first + k)];
    }
    return slope;
  }

  [[nodiscard]] Eigen::VectorXd solve(const Matrix& X) const {
    Eigen::VectorXd y(X.rows());
    for (std::size_t j = 0; j < rows_.size(); ++j) y[static_cast<Eigen::Index>(j)] = rows_[j].A;
    return X.colPivHouseholderQr().solve(y);
  }

  [[nodiscard]] static Matrix operator_of(const Matrix& X) {
    return X.colPivHouseholderQr().solve(Matrix::Identity(X.rows(), X.rows()));
  }

  /// Covariance of sums H over the errors e = dA - A' F_T dCi of the rows. `keep`: the first is
  /// the lag, wanted later.
  Matrix covariance(const Matrix& H, bool keep) {
    const Eigen::Index p = H.rows();
    const CubicSplineBasis spline = basis();
    std::vector<const RampErrors*> records;
    std::vector<std::vector<Series>> on_A, on_Ci;
    for (std::size_t k = 0; k < ramps_.size(); ++k) {
      records.push_back(ramps_[k]->errors.get());
      on_A.emplace_back(static_cast<std::size_t>(p), Series(times_[k]->size()));
      on_Ci.push_back(on_A.back());
    }
    for (std::size_t j = 0; j < rows_.size(); ++j) {
      const Row& row = rows_[j];
      const double slope = slope_of(spline, f_, row.Ci);
      for (Eigen::Index a = 0; a < p; ++a) {
        const double h = H(a, static_cast<Eigen::Index>(j));
        on_A[row.ramp][static_cast<std::size_t>(a)][row.at] = h;
        on_Ci[row.ramp][static_cast<std::size_t>(a)][row.at] = -h * slope;
      }
    }
    for (std::size_t k = 0; k < ramps_.size(); ++k) {
      for (Series& x : on_Ci[k]) x = through_lag(*ramps_[k], T_, x);
      if (!keep) continue;
      out_.lag_by_A.push_back(on_A[k].front());
      out_.lag_by_Ci.push_back(on_Ci[k].front());
    }
    const Series flat = joined_covariance(records, on_A, on_Ci, options_.one_path);
    return Eigen::Map<const Matrix>(flat.data(), p, p);  // symmetric
  }

  /// Is there more between the passes than m and T?
  void symmetry(const Matrix& X) {
    Matrix wide(X.rows(), X.cols() + extras);
    wide.leftCols(X.cols()) = X;
    for (std::size_t j = 0; j < rows_.size(); ++j) {
      const auto at = static_cast<Eigen::Index>(j);
      wide.row(at).tail(extras) = rows_[j].sign * shapes(rows_[j].Ci).transpose();
    }
    const Matrix H = operator_of(wide).bottomRows(extras + 1);  // m, then the three
    Eigen::VectorXd y(X.rows());
    for (std::size_t j = 0; j < rows_.size(); ++j) y[static_cast<Eigen::Index>(j)] = rows_[j].A;
    const Eigen::VectorXd c = H * y;
    const Matrix V = covariance(H, false);
    const Matrix of_extras = V.bottomRightCorner(extras, extras);
    out_.chi2 = c.tail(extras).dot(of_extras.ldlt().solve(c.tail(extras)));
    out_.symmetry_p = chi2_upper(out_.chi2, static_cast<double>(extras));
    difference(c, V);
  }

  [[nodiscard]] Eigen::Vector3d shapes(double Ci) const {
    const double x = 2 * (Ci - out_.from) / (out_.to - out_.from) - 1;
    return {1, x, x * x};
  }

  void difference(const Eigen::VectorXd& c, const Matrix& V) {
    const CubicSplineBasis spline = basis();
    for (std::size_t k = 0; k < out_.differences.size(); ++k) {
      PassDifference& d = out_.differences[k];
      d.Ci = out_.from + (out_.to - out_.from) * (0.04 + 0.115 * static_cast<double>(k));
      Eigen::VectorXd w(extras + 1);
      const SplineValues at = spline.at(d.Ci);
      double f = 0;
      for (std::size_t b = 0; b < 4; ++b) {
        f += at.value[b] * f_[static_cast<Eigen::Index>(at.first + b)];
      }
      w << f, shapes(d.Ci);
      d.after = w.dot(c);
      d.se = std::sqrt(w.dot(V * w));
      d.before = d.after + slope_of(spline, f_, d.Ci) * out_.lag_s * speeds_at(d.Ci);
    }
  }

  /// Speeds of Ci on both passes near Ci, added: what a second of lag moves them apart.
  [[nodiscard]] double speeds_at(double Ci) const {
    double sum = 0;
    for (const PairPass& pass : out_.passes) {
      std::vector<std::size_t> near = pass.rows;
      const Series& series = lagged_[pass.ramp];
      const std::size_t keep = std::min<std::size_t>(15, near.size());
      std::nth_element(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(keep - 1),
                       near.end(), [&](std::size_t a, std::size_t b) {
                         return std::abs(series[a] - Ci) < std::abs(series[b] - Ci);
                       });
      near.resize(keep);
      sum += median_rate(series, near, speed_[pass.ramp]);
    }
    return sum;
  }

  std::span<const CorrectedRamp* const> ramps_;
  std::vector<const Series*> times_;
  const PairOptions& options_;
  RampPair& out_;
  std::vector<Series> plain_, lagged_, speed_;
  std::vector<Row> rows_;
  Eigen::VectorXd f_;
  double T_ = 0;
};

}  // namespace

std::vector<double> through_lag(const CorrectedRamp& ramp, double lag_s,
                                const std::vector<double>& x) {
  const std::vector<double>& time = ramp.errors->time();
  std::vector<double> out = lag_s > 0 ? noise_adjoint(time, 0, lag_s, time, x) : x;
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (!std::isfinite(ramp.Ci[i])) out[i] = 0;
  }
  return out;
}

namespace {

std::string seconds(double value) {
  return print_rounded(value, 3) + " s";
}

void judge(const PairOptions& options, RampPair& out) {
  const double z = normal_quantile(1 - options.false_alarm / 2);
  out.lag_shown = out.lag_s > z * out.lag_se && out.lag_s <= options.longest_s;
  out.symmetric = out.symmetry_p >= options.false_alarm;
  const std::string found = seconds(out.lag_s) + " +- " + seconds(out.lag_se);
  if (out.lag_s < -z * out.lag_se) {
    out.notes.push_back({NoteLevel::warning, "lag-negative",
                         "the passes differ as if A ran ahead of Ci by " + seconds(-out.lag_s) +
                             " +- " + seconds(out.lag_se) +
                             ": no leaf does; the time constant of the chamber or the alignment of "
                             "the columns may be wrong. Nothing was taken out"});
  } else if (out.lag_s > options.longest_s) {
    out.notes.push_back({NoteLevel::warning, "own-lag",
                         "a lag of " + found + " is longer than " + seconds(options.longest_s) +
                             " and is not taken for the lag of a leaf. Nothing was taken out"});
  } else if (!out.lag_shown) {
    out.notes.push_back({NoteLevel::info, "own-lag", "no lag of the leaf's own shows: " + found});
  }
  if (!out.symmetric) {
    out.notes.push_back(
        {NoteLevel::warning, "not-symmetric",
         "the passes differ by more than one lag and one level make (p " +
             print_rounded(out.symmetry_p, 2) +
             "): the leaf did not do the same in both directions, and the mean of the passes is no "
             "curve at rest. Fit each pass by itself and compare"});
  }
  if (std::abs(out.level) > z * out.level_se) {
    out.notes.push_back({NoteLevel::caution, "level-differs",
                         "A was " + print_rounded(100 * std::abs(out.level), 3) + " +- " +
                             print_rounded(100 * out.level_se, 2) + " % " +
                             (out.level > 0 ? "higher" : "lower") +
                             " on the way down than on the way up; the curve of the pair lies "
                             "between"});
  }
  out.notes.push_back({NoteLevel::info, "pair-cannot-show",
                       "a lag that is longer in one direction than in the other moves the curve of "
                       "the pair sideways, and no pair of ramps can show that"});
}

double to_remove(const PairOptions& options, const RampPair& out) {
  if (options.own_lag.kind == OwnLag::Kind::stated) return options.own_lag.seconds;
  if (options.own_lag.kind == OwnLag::Kind::keep) return 0;
  return out.lag_shown && out.symmetric ? out.lag_s : 0;
}

}  // namespace

std::vector<PairPass> passes_of(std::span<const CorrectedRamp* const> ramps,
                                std::span<const std::string> names) {
  std::vector<PairPass> out;
  for (std::size_t k = 0; k < ramps.size(); ++k) {
    for (const RampEnds& end : ramps[k]->ends.ramps) {
      if (end.stretch.kind == Stretch::Kind::hold) continue;
      PairPass pass{names[k], k, end.stretch.kind == Stretch::Kind::up, {}};
      const double until = end.stops_s.value_or(1e300);
      for (std::size_t i = end.stretch.first; i < ramps[k]->use.size(); ++i) {
        if (ramps[k]->use[i] == 0 || !std::isfinite(ramps[k]->Ci[i])) continue;
        if (ramps[k]->errors && ramps[k]->errors->time()[i] > until) break;
        pass.rows.push_back(i);
      }
      if (!pass.rows.empty()) out.push_back(std::move(pass));
    }
  }
  return out;
}

Result<RampPair> fit_pair(std::span<const CorrectedRamp* const> ramps,
                          std::span<const std::string> names, const PairOptions& options) {
  const std::vector<PairPass> passes = passes_of(ramps, names);
  const auto ups = std::count_if(passes.begin(), passes.end(), [](const auto& p) { return p.up; });
  if (passes.size() != 2 || ups != 1) {
    return fail(ErrorCode::unfit,
                std::to_string(ups) + " up and " +
                    std::to_string(static_cast<std::ptrdiff_t>(passes.size()) - ups) + " down in " +
                    join(std::vector<std::string>(names.begin(), names.end())),
                "one pass up and one down of the same leaf");
  }
  for (std::size_t k = 0; k < ramps.size(); ++k) {
    if (ramps[k]->errors) continue;
    return fail(ErrorCode::unfit, names[k] + " has no errors of its own",
                "ramps corrected from their columns, not with 'recorded'");
  }
  RampPair out;
  out.passes = {passes[passes[0].up ? 0 : 1], passes[passes[0].up ? 1 : 0]};
  PairFit fit(ramps, options, out);
  if (auto ok = fit.common_range(); !ok) return fail(ok.error());
  if (auto ok = fit.find_lag(); !ok) return fail(ok.error());
  fit.errors();
  judge(options, out);
  fit.remove(to_remove(options, out));
  return out;
}

}  // namespace leafwright
