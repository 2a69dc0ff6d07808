// Inside identify.cpp: the records as the fit sees them, and the fit at one (lag, mixing).
#pragma once

#include <Eigen/Dense>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "ramp/gas_path_filter.hpp"
#include "ramp/identify.hpp"
#include "ramp/record_programme.hpp"

namespace leafwright::identify_detail {

/// The unknowns that are not eliminated.
struct PathPoint {
  double lag = 0, mixing = 0, averaging = 0;
};

struct FitRecord {
  const RampRecord* record = nullptr;
  Programme programme;
  PathFilter filter;
  std::vector<double> time_R;     ///< middle of what each row of CO2r averages, numbers only
  std::size_t first = 0;          ///< of this record's rows in the stacked arrays
  std::vector<std::size_t> rows;  ///< of the record
  std::vector<double> time, S, dilution;
};

/// All records stacked.
class PathData {
 public:
  PathData(const std::vector<const RampRecord*>& records, const IdentifyOptions& options);

  /// Leaves out rows whose history the record does not hold at this point, and those behind gaps.
  void choose_rows(const PathPoint& at);

  [[nodiscard]] const std::vector<FitRecord>& records() const { return records_; }
  [[nodiscard]] Eigen::Index size() const { return size_; }
  [[nodiscard]] double averaging() const { return averaging_; }
  [[nodiscard]] int order() const { return order_; }
  void set_order(int order) { order_ = order; }

  [[nodiscard]] Eigen::VectorXd sample() const;
  [[nodiscard]] Eigen::VectorXd matched(const PathPoint& at) const;
  /// 1, v, v^2 with v = (x - middle)/scale, as far as order.
  [[nodiscard]] Eigen::MatrixXd offsets(const Eigen::VectorXd& matched) const;
  /// (c0, c1, c2) = transform() * coefficients of offsets().
  [[nodiscard]] Eigen::MatrixXd transform() const;

  struct Fit {
    Eigen::VectorXd coefficients, residuals, matched;
    double ssr = 0;
  };
  [[nodiscard]] Fit fit(const PathPoint& at) const;

 private:
  std::vector<FitRecord> records_;
  Eigen::Index size_ = 0;
  double averaging_ = 0;
  int order_ = 2;
  double middle_ = 0, scale_ = 1;
};

/// What the errors of the linearised fit are. Columns: lag, mixing and averaging as far as free,
/// then the offsets.
struct FreeColumns {
  bool lag = true, mixing = true, averaging = false;
};
Eigen::MatrixXd design_at(const PathData& data, const PathPoint& at, const PathData::Fit& fit,
                          const FreeColumns& free);

struct ErrorModel {
  Eigen::MatrixXd covariance;  ///< of the columns of the design
  double noise_S = 0, noise_R = 0;
  double misfit =
      1;  ///< slow residuals against what noise and drift explain (a ratio of variances)
};
ErrorModel errors_of(const PathData& data, const PathPoint& at, const PathData::Fit& fit,
                     const Eigen::MatrixXd& design, const IdentifyOptions& options);

}  // namespace leafwright::identify_detail
