// All leaves of one group fitted together: each leaf keeps its own capacities, and what the leaves
// have in common tells what a poor curve leaves open.
//
//   A_li = model(Ci_li; theta_l) + e,  e ~ N(0, sigma^2 / w_li)  one sigma a group
//   theta_l = (ln Vcmax, ln J, [ln TPU,] Rday) ~ N(mu, Omega)
//   mu: flat;  sigma^2: density 1/sigma^2
//   Omega: half-t with 2 degrees of freedom on each standard deviation (scale: settings), uniform
//   on each correlation, as a mixture of inverse Wisharts (Huang & Wand 2013, Bayesian Analysis
//   8:439, eq. 2; from memory):
//     Omega | a ~ IW(nu + p - 1, 2 nu diag(1/a_k)),  a_k ~ IG(1/2, 1/A_k^2),  nu = 2
//
// The likelihood is the model itself, kinks included; nothing is linearised and no estimate of a
// single leaf enters. Sampled by Gibbs steps (mu, Omega, a, sigma) and random-walk Metropolis steps
// (theta; Gelman, Roberts & Gilks 1996: 2.38^2/p times the covariance, adapted while warming up).
// Rday is not held above 0: a prior cut off there would pull its mean up. Chains are judged by
// split R-hat (Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., sect. 11.4) and by the number
// of independent draws that they are worth (Geyer 1992, initial positive sequence).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/progress.hpp"
#include "fit/problem.hpp"

namespace leafwright {

/// One leaf: its rows, with constants at its own temperature. Capacities are those at which the
/// observations' scales are 1 (25 degC, where the scales are responses relative to it).
struct JointLeafRows {
  std::string leaf;
  std::vector<Observation> rows;
};

/// Defaults, of this struct and of the command's settings alike.
struct JointDefaults {
  static constexpr std::size_t chains = 4, warm_up = 2000, sweeps = 8000, seed = 1;
  static constexpr double spread = 0.5;
};

struct JointSettings {
  std::size_t chains = JointDefaults::chains;
  std::size_t warm_up = JointDefaults::warm_up;  ///< sweeps a chain, thrown away
  std::size_t sweeps = JointDefaults::sweeps;    ///< sweeps a chain, kept
  std::uint64_t seed = JointDefaults::seed;
  double level = 0.95;                     ///< of intervals
  double sd_log = JointDefaults::spread;   ///< scale of the half-t of ln Vcmax, ln J, ln TPU
  double sd_rday = JointDefaults::spread;  ///< the same of Rday, umol m-2 s-1
  bool tpu = false;                        ///< TPU is permitted, in all leaves
  Electrons electrons = {};
  double alpha = 0;
};

/// One quantity's posterior: median and central interval, and how well it was sampled.
struct Posterior {
  std::string name;                              ///< "Vcmax", "J", "TPU", "Rday"
  double median = 0, sd = 0, low = 0, high = 0;  ///< umol m-2 s-1
  double rhat = 0;                               ///< split R-hat; 1 where chains agree
  double draws = 0;                              ///< independent draws that the chains are worth
};

struct JointLeaf {
  std::string leaf;
  std::vector<Posterior> values;
};

struct JointGroup {
  std::string group;
  std::vector<JointLeaf> leaves;
  /// Of the leaves' distribution: exp(mu) for capacities (the median leaf), mu for Rday.
  std::vector<Posterior> middle;
  /// Standard deviations between leaves: of ln for capacities, umol m-2 s-1 for Rday.
  std::vector<Posterior> spread;
  Posterior sigma;  ///< of A, umol m-2 s-1
  /// R-hat <= 1.03 and >= 200 independent draws of every leaf and the middle; 1.05 and 100 of
  /// spreads and sigma.
  bool converged = false;
  double acceptance = 0;  ///< share of Metropolis steps taken
};

/// Samples one group. Random numbers depend on (seed, group, chain) only. Errors: usage (settings
/// out of range), unfit (fewer than 4 leaves, or what make_problem refuses, naming the leaf);
/// unfit also where the work was cancelled.
Result<JointGroup> joint_posterior(const std::string& group, std::span<const JointLeafRows> leaves,
                                   const JointSettings& settings, const Progress& progress = {},
                                   const Cancel* cancel = nullptr);

}  // namespace leafwright
