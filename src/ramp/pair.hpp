// An up and a down ramp of one leaf, fitted together: the leaf's own lag shows as a difference
// between them that no empty chamber can show, and can be taken out as far as it is the same in
// both directions.
//
// With f the curve at rest, and a leaf that follows it as a first-order lag T does:
//   A(t) = (1 -+ m/2) f((F_T * Ci)(t))                     - up, + down
// f is a cubic B-spline in Ci over what both passes reached, m how much more the leaf did on the
// way down (activation, drift of the leaf). Least squares for f, m, T (Gauss-Newton in T; dCi/dt
// from quadratics over `smoothing_s`, since a noisy slope pulls T to 0). Errors are not those of
// the residuals: noise of both analysers, drift of each record, and the gas path, whose errors the
// passes share (covariance.hpp). Derivation and what was measured: docs/methods-ramps.md.
//
// Symmetry: is what is left between the passes more than noise? A constant, a slope and a bend of
// the difference over Ci beside m and T, against their covariance (chi-squared, 3 df). A lag that
// differs between the directions moves f sideways and is not among what this test can see: no pair
// can show it.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "ramp/correction.hpp"

namespace leafwright {

/// One direction: a ramp of its own, or one stretch of a ramp that turned round.
struct PairPass {
  std::string name;      ///< the ramp's
  std::size_t ramp = 0;  ///< index among the ramps of the pair
  bool up = true;
  std::vector<std::size_t> rows;  ///< used rows of the record, rising
};

/// What the own lag is treated as.
struct OwnLag {
  enum class Kind { found, keep, stated };
  Kind kind = Kind::found;
  double seconds = 0;  ///< stated
};

struct PairOptions {
  OwnLag own_lag;
  double smoothing_s = 20;    ///< of dCi/dt
  double level = 0.95;        ///< of the interval of the lag
  double false_alarm = 0.01;  ///< of "there is a lag" and of "not symmetric"
  double longest_s = 30;      ///< a lag beyond this is not taken for one
  bool one_path = true;       ///< both passes corrected with one and the same gas path
};

/// The passes of corrected ramps, in order.
std::vector<PairPass> passes_of(std::span<const CorrectedRamp* const> ramps,
                                std::span<const std::string> names);

/// A of the pass down less A of the pass up at one Ci, with the lag and without.
struct PassDifference {
  double Ci = 0;      ///< umol mol-1
  double before = 0;  ///< as corrected for the gas path, umol m-2 s-1
  double after = 0;   ///< less what the lag makes
  double se = 0;      ///< of `after`
};

struct RampPair {
  std::array<PairPass, 2> passes;     ///< up, down
  double from = 0, to = 0;            ///< Ci that both passes reached, umol mol-1
  std::array<std::size_t, 2> rows{};  ///< that were compared
  double lag_s = 0, lag_se = 0;       ///< T as found, whether removed or not
  double lag_low = 0, lag_high = 0;
  double level = 0, level_se = 0;  ///< m, a fraction of A
  double level_lag_correlation = 0;
  double chi2 = 0, symmetry_p = 1;              ///< of 3 df
  std::array<PassDifference, 9> differences{};  ///< from near the low to near the high end
  bool lag_shown = false, symmetric = true;
  double removed_s = 0;  ///< taken out of Ci; 0: nothing
  /// Ci of every row of each ramp, after removal.
  std::vector<std::vector<double>> Ci;
  std::vector<std::vector<double>> speed;  ///< dCi/dt of every row, smoothed, umol mol-1 s-1
  bool one_path = true;
  /// dT over dA and dCi of every row of each ramp, for errors of what is fitted later.
  std::vector<std::vector<double>> lag_by_A, lag_by_Ci;
  Notes notes;
};

/// Fits the pair. Notes, about: "own-lag",
/// "not-symmetric", "level-differs", "lag-negative", "pair-cannot-show".
/// Errors: unfit, without exactly one pass up and one down, less than 200 umol/mol of Ci or 30 rows
/// in common, ramps without errors (correction recorded), or a fit that does not settle.
Result<RampPair> fit_pair(std::span<const CorrectedRamp* const> ramps,
                          std::span<const std::string> names, const PairOptions& options = {});

/// F_T' x over the rows of one ramp: what sums over Ci with the lag removed weigh Ci before it.
/// Rows without a Ci weigh 0.
std::vector<double> through_lag(const CorrectedRamp& ramp, double lag_s,
                                const std::vector<double>& x);

}  // namespace leafwright
