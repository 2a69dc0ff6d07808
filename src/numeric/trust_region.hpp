// The engine of least_squares.hpp: one trust-region minimisation of a weighted sum of squares with
// bounds. Private to this room, as it shows Eigen; included from .cpp files of numeric only.
#pragma once

#include <Eigen/Dense>
#include <optional>
#include <vector>

#include "numeric/least_squares.hpp"

namespace leafwright::trust_region {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

inline std::size_t at(Index i) {
  return static_cast<std::size_t>(i);
}

/// The caller's problem as vectors. The functions tell whether all values are finite.
struct Model {
  const LeastSquaresProblem& problem;
  Index m, n;
  VectorXd lower, upper, typical;
  VectorXd root_weight;  ///< sqrt(weights times loss weights); set before use
  int evaluations = 0;

  /// Residuals as the caller gives them.
  bool raw(const VectorXd& p, VectorXd& r);
  /// Residuals times root_weight. Rows without weight may hold anything and become 0.
  bool weighted(const VectorXd& p, VectorXd& r);
  /// Derivatives of `weighted`; `r` are its values at `p`.
  bool jacobian(const VectorXd& p, const VectorXd& r, MatrixXd& J);

 private:
  bool given(const VectorXd& p, MatrixXd& J) const;
  bool difference(Index j, const VectorXd& p, const VectorXd& r, MatrixXd& J);
  bool one_sided(VectorXd& place, Index j, double h, const VectorXd& r, MatrixXd& J);
};

/// The linear least-squares problem |r + J step| of one iteration in variables scaled by `d`,
/// decomposed once for all dampings. Needs at least as many rows as columns.
class Subproblem {
 public:
  Subproblem(const MatrixXd& J, const VectorXd& r, const VectorXd& d);

  /// Singular values above tolerance times the largest.
  [[nodiscard]] Index rank(double tolerance) const;
  /// The damping under which the scaled step is as long as `radius` (within 10 %); 0 where the
  /// undamped step is not longer. `step` holds that step afterwards.
  double damping(double radius, double tolerance, VectorXd& step) const;
  /// The step that minimises |r + J step|^2 + lambda |d step|^2. With lambda 0 the directions that
  /// the data do not determine (see rank) are left out.
  [[nodiscard]] VectorXd step(double lambda, double tolerance) const;

  VectorXd s;  ///< singular values, falling
  MatrixXd V;  ///< right singular vectors

 private:
  [[nodiscard]] VectorXd coefficients(double lambda, double tolerance) const;
  [[nodiscard]] VectorXd unscaled(const VectorXd& a) const;

  VectorXd c_, inverse_scale_;  // U'Q'r, 1/d
};

class LevenbergMarquardt {
 public:
  LevenbergMarquardt(Model& model, const LeastSquaresOptions& options, VectorXd start);

  StopReason run();

  [[nodiscard]] const VectorXd& parameters() const { return now_.p; }
  [[nodiscard]] const std::vector<Index>& free() const { return free_; }
  [[nodiscard]] const std::vector<BoundState>& bounds() const { return bounds_; }
  [[nodiscard]] double angle() const { return angle_; }
  [[nodiscard]] double rank_tolerance() const { return rank_tolerance_; }
  [[nodiscard]] int iterations() const { return iterations_; }

 private:
  struct Point {
    VectorXd p, r;
    double ssr = 0;
  };
  bool linearise();
  void find_free();
  void set_scale();
  [[nodiscard]] MatrixXd columns(const std::vector<Index>& which) const;
  [[nodiscard]] VectorXd scales(const std::vector<Index>& which) const;
  std::optional<StopReason> stationary();
  [[nodiscard]] VectorXd bounded_step(double radius) const;
  [[nodiscard]] Index held_in_vain(const std::vector<bool>& moves, const VectorXd& step,
                                   double lambda) const;
  Index walk(const std::vector<Index>& moving, const VectorXd& goal, VectorXd& step) const;
  std::optional<StopReason> improve();
  std::optional<StopReason> polish();
  [[nodiscard]] Point after(const VectorXd& step);

  Model& model_;
  const LeastSquaresOptions& options_;
  Point now_, before_polish_;
  VectorXd scale_, gradient_;
  MatrixXd J_;
  double radius_ = -1, angle_ = 0, angle_before_polish_ = 0, rank_tolerance_ = 0;
  bool polishing_ = false;
  int iterations_ = 0;
  std::vector<Index> free_;
  std::vector<BoundState> bounds_;
  std::optional<Subproblem> undamped_;  // over free_, at the current point
};

}  // namespace leafwright::trust_region
