// One chain of the sampler of joint_posterior.hpp, and what chains are worth.
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "base/progress.hpp"
#include "base/random.hpp"
#include "fit/joint_posterior.hpp"

namespace leafwright {

/// What every chain of a group samples. theta = (ln of each permitted capacity in the order Vcmax,
/// J, TPU; Rday).
struct JointTarget {
  std::vector<C3Problem> leaves;
  std::vector<std::vector<double>> start;  ///< theta of each leaf, finite
  std::vector<double> prior_sd;            ///< A_k of the half-t, one a component of theta
  std::size_t rows = 0;                    ///< of all leaves

  [[nodiscard]] std::size_t parameters() const { return prior_sd.size(); }
};

/// Draws of a chain, one series a quantity: theta of leaf 0, of leaf 1, ...; mu; the standard
/// deviations of Omega; sigma.
struct JointDraws {
  std::vector<std::vector<double>> series;
  std::size_t tried = 0, taken = 0;  ///< Metropolis steps after warming up
};

/// Runs a chain from starts that are scattered round `target.start`. `tick` is called after every
/// sweep and ends the chain early by false; the draws are then fewer.
JointDraws run_joint_chain(const JointTarget& target, std::size_t warm_up, std::size_t sweeps,
                           RandomStream random, const std::function<bool()>& tick);

/// Split R-hat of one quantity over chains of equal length >= 4 (Gelman et al. 2013, eqs
/// 11.1-11.4): sqrt of the pooled over the mean within-half variance; 1 where all draws are equal.
double split_rhat(const std::vector<std::vector<double>>& chains);

/// The number of independent draws that the chains are worth: (all draws)/(1 + 2 sum rho), rho
/// summed over Geyer's (1992) initial positive pairs, from autocovariances averaged over chains.
double independent_draws(const std::vector<std::vector<double>>& chains);

}  // namespace leafwright
