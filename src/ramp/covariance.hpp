// What noise and an uncertain path make of the points of a ramp, and of parameters fitted to them
// (linearised parametric errors). Neighbouring points share noise, A and Ci share it too, and the
// path is one for all: errors from the scatter of the residuals are 2 to 3 times too small.
//
// With C the CO2s that Ci is computed from and g the total conductance to CO2 (E, g in mol):
//   dCi = [(g - E/2) dC - dA]/(g + E/2),   e = dA - A' dCi,   A' = dA/dCi of the fitted curve
//   parameters p = H A for fixed states:  dp = H e,  Cov(p) = sum over sources of (H J)(H J)'
// Sources: white noise of each row of R and S, sent through the correction's own (linear) filters
// exactly; a slow drift of the differential, covariance sd^2 exp(-|dt|/time); the covariance of lag
// and offsets of the identified path; the chamber's time constant; where a differential is looked
// up in an empty record, that record's own noise and drift, which points near in CO2r share. Not
// counted: area, Tleaf, water, gbw and what else scales a whole curve; kinetics; that the model is
// wrong.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/error.hpp"
#include "ramp/filter.hpp"

namespace leafwright {

/// How a row's noise enters. A = k [G_R R - dil (G_S S + tau_d dS/dt)], C = G_C S.
struct NoiseRoute {
  double delay_s = 0, mixing_s = 0;  ///< of G_R
  double pairing_s = 0;              ///< mixing of G_C
  std::optional<double> window_s;    ///< quadratics on all of them
  double derivative_s = 0;           ///< tau_d
};

/// A differential D looked up in an empty record: D at row i = sum from[i].value[k] y[from[i].first
/// + k] over the points y of the empty record, in any order. Their times say how their drift goes
/// together; those of different records lie so far apart that it does not.
struct LookedUp {
  std::vector<WindowRow> from;       ///< one a row of the leaf, empty where D is not known
  std::vector<double> variance;      ///< white noise of each point, (umol mol-1)^2
  std::vector<double> time_s;        ///< of each point
  std::vector<std::size_t> in_time;  ///< the points in the order of time
};

/// What the covariance of one ramp is made from; one entry a row in every vector.
struct RampErrorInputs {
  std::vector<double> time_R, time;  ///< s
  std::vector<double> gain;          ///< k
  std::vector<double> dilution;
  std::vector<double> to_moist;         ///< dCO2 per moist air over dS: 1, or 1 - Ws for dry CO2
  std::vector<double> g_plus, g_minus;  ///< g +- E/2, mol m-2 s-1
  NoiseRoute route;
  double sd_R = 0, sd_S = 0;  ///< of one row, umol mol-1
  double drift_sd = 0, drift_time_s = 400;
  /// Sensitivities of A and C to each uncertain number of the path, one vector a number.
  std::vector<std::vector<double>> A_by_path, C_by_path;
  std::vector<double> path_covariance;  ///< of these numbers, row by row
  std::optional<LookedUp> looked_up;    ///< A = k [... + D]
};

struct PointErrors {
  double A_sd = 0, Ci_sd = 0, cov_A_Ci = 0;
};

/// Errors of parameters that are sums over points, apart by where they come from. Noise and drift
/// are those of the record, and of the empty record where a differential is looked up in it: two
/// records that look it up in one and the same share that, which is not in `by_path`.
struct ErrorShares {
  std::size_t parameters = 0, path_numbers = 0;
  std::vector<double> own;      ///< covariance by noise and drift, p x p row by row
  std::vector<double> by_path;  ///< what one unit of each path number does, p x q row by row
};

class RampErrors {
 public:
  explicit RampErrors(RampErrorInputs inputs);

  /// Of every row; not a number where g is not known.
  [[nodiscard]] std::vector<PointErrors> points() const;

  /// Cov(H e), p x p, row by row. `H` has p rows of as many entries as `used`, which lists rows of
  /// the record (rising); `slope` is A' at each of them.
  [[nodiscard]] std::vector<double> parameters(std::span<const std::size_t> used,
                                               std::span<const double> slope,
                                               std::span<const std::vector<double>> H) const;

  /// Parameters dp = sum (on_A dA + on_Ci dCi) over all rows of the record, one vector of as many
  /// entries as rows for each parameter. Rows without a point must weigh 0. Records that share a
  /// path share its errors: their `by_path` add up before they are squared.
  [[nodiscard]] ErrorShares shares(std::span<const std::vector<double>> on_A,
                                   std::span<const std::vector<double>> on_Ci) const;
  /// Of the path numbers, q x q row by row.
  [[nodiscard]] const std::vector<double>& path_covariance() const { return in_.path_covariance; }
  [[nodiscard]] const std::vector<double>& time() const { return in_.time; }

 private:
  struct Weights {
    std::vector<double> on_A, on_C;  ///< one parameter as sums over dA and dC
  };
  [[nodiscard]] std::vector<double> by_path(const Weights& w) const;
  [[nodiscard]] std::vector<double> on_R(const Weights& w) const;
  [[nodiscard]] std::vector<double> on_S(const Weights& w) const;
  [[nodiscard]] std::vector<double> drifted(std::span<const double> time,
                                            const std::vector<double>& x) const;
  [[nodiscard]] std::vector<double> on_looked_up(const Weights& w) const;
  [[nodiscard]] double looked_up_share(const std::vector<double>& a,
                                       const std::vector<double>& b) const;
  [[nodiscard]] double looked_up_variance(std::size_t row) const;

  RampErrorInputs in_;
  std::optional<QuadraticWindow> window_;
};

/// H = (X' X)^-1 X' for a design X of n rows and p columns (row by row): what least squares with
/// fixed states makes of the points. Error: unfit, columns that the rows do not tell apart.
Result<std::vector<std::vector<double>>> fit_operator(std::span<const double> design,
                                                      std::size_t columns);

/// Of parameters that are sums over the rows of several records (`on_A[k]`, `on_Ci[k]` those of
/// record k, as in RampErrors::shares), p x p row by row. `one_path`: the records were corrected
/// with one gas path, whose errors act on all of them at once.
std::vector<double> joined_covariance(std::span<const RampErrors* const> records,
                                      std::span<const std::vector<std::vector<double>>> on_A,
                                      std::span<const std::vector<std::vector<double>>> on_Ci,
                                      bool one_path);

/// Cov(H e) for points and a design in one call (row by row, p x p).
Result<std::vector<double>> ramp_parameter_covariance(const RampErrors& errors,
                                                      std::span<const std::size_t> used,
                                                      std::span<const double> slope,
                                                      std::span<const double> design,
                                                      std::size_t columns);

}  // namespace leafwright
