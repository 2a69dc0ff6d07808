// What the fits without a closed solution share (C4, finite gm, smooth minimum): a
// Levenberg-Marquardt for at most five parameters that allocates next to nothing, profile
// intervals of a model that can be solved with some of its parameters held, and the estimates made
// from them. numeric/least_squares.hpp is the general solver; this one is forty times faster on a
// curve of a dozen rows, and bare: it does not see rank.
#pragma once

#include <array>
#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fit/correlation.hpp"
#include "fit/result.hpp"

namespace leafwright {

inline constexpr std::size_t most_parameters = 5;
using Parameters = std::array<double, most_parameters>;
/// Values at which parameters are held; empty: free.
using HeldParameters = std::array<std::optional<double>, most_parameters>;

/// A smooth sum of squares: residuals (model - data) and their derivatives.
class SmoothTarget {
 public:
  virtual ~SmoothTarget() = default;
  [[nodiscard]] virtual std::size_t rows() const = 0;
  /// `jacobian` is null or rows x most_parameters, row by row. False: not to be computed here.
  virtual bool evaluate(const Parameters& p, double* residuals, double* jacobian) const = 0;
};

struct SmallMinimum {
  Parameters p{};
  double ssr = 0;
  bool converged = false;
};

struct ParameterBox {
  Parameters lower{}, upper{};
  std::array<bool, most_parameters> free{};  ///< the others stay where they start
  /// Given up after a few steps where the straight model does not promise a lower sum than this.
  double hopeless_above = std::numeric_limits<double>::infinity();
  /// Ends where a step gains, or promises to gain, less than this part of the sum of squares.
  double least_gain = 1e-10;
  /// A minimum found before: the way ends where it comes near it. Or null.
  const SmallMinimum* known = nullptr;
};

/// A local minimum from `start` (moved into the box). Where the target cannot be computed at the
/// start, ssr is infinite.
SmallMinimum minimise(const SmoothTarget& target, const ParameterBox& box, Parameters start);

/// How a parameter is stored and walked. A capacity may be infinite (it then limits no row), so its
/// profile is walked in 1/value; with `reciprocal` it is stored as 1/value too.
struct ParameterSpec {
  std::string symbol;
  std::string unit = "umol m-2 s-1";
  bool capacity = true;     ///< false: a plain number >= 0 (Rday)
  bool reciprocal = false;  ///< stored as 1/value
  bool fixed = false;       ///< held by the user
  bool absent = false;      ///< not permitted: nothing is said of it, and it costs nothing
  bool counted = true;      ///< false: derived from others, costs no degree of freedom
};

/// A curve's model that can be solved exactly or by search, with parameters held.
class CurveModel {
 public:
  virtual ~CurveModel() = default;
  [[nodiscard]] virtual const std::vector<double>& observed() const = 0;
  /// Of the rows in the sum of squares; null: they count alike.
  [[nodiscard]] virtual const std::vector<double>* weights() const { return nullptr; }
  [[nodiscard]] virtual const std::vector<ParameterSpec>& specs() const = 0;
  /// The lowest sum of squares with `held` held; `near` is where a neighbouring solution lies, or
  /// null. ssr is infinite where there is no solution.
  [[nodiscard]] virtual SmallMinimum solve(const HeldParameters& held,
                                           const Parameters* near) const = 0;
  /// The same from each of `nears`, ending as soon as a sum of squares is at most `enough`.
  [[nodiscard]] virtual SmallMinimum solve_from(const HeldParameters& held,
                                                std::span<const Parameters> nears,
                                                double enough) const;
  /// Net rates and, unless null, their derivatives (rows x most_parameters).
  virtual void rates(const Parameters& p, double* A, double* jacobian) const = 0;

  [[nodiscard]] std::size_t rows() const { return observed().size(); }
  [[nodiscard]] std::size_t counted() const;  ///< parameters that cost a degree of freedom
};

/// A parameter's value: of a capacity, infinity where it limits no row.
double value_of(const ParameterSpec& spec, double stored);

/// All values of parameter k with a sum of squares up to `threshold`. `low` is 0 where the bound is
/// reached; an empty end is open. `best` is replaced where a lower sum is met on the way.
struct SmallExtent {
  std::optional<double> low, high;
};
SmallExtent small_profile(const CurveModel& model, SmallMinimum& best, std::size_t k,
                          double threshold);

struct SmallIntervals {
  double level = 0.95;
  std::optional<double> correlation;
  bool profile = true;
};
/// Estimates in the order of the specs. `best` is replaced by any better solution met.
std::vector<Estimate> small_estimates(const CurveModel& model, SmallMinimum& best,
                                      const SmallIntervals& how);

/// Sum of squares up to which a profile interval goes: ssr (1 + F(level; 1, df)/df), with a floor
/// for exact fits. df > 0.
double profile_threshold(const CurveModel& model, double ssr, double level);

/// The linearised design at a solution, over the parameters that some row depends on and that are
/// neither held nor at a bound, rows times the root of their weight. `which` receives their
/// numbers. Only the number of `Design::columns` means anything.
Design small_design(const CurveModel& model, const Parameters& p, std::vector<std::size_t>& which);

}  // namespace leafwright
