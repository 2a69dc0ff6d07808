// Group means of (ln Vcmax, ln J, Rday) together, each leaf with its whole information matrix.
//
//   y_l = mu + b_l + e_l,  b_l ~ N(0, T) between units,  e_l ~ N(0, S_l) of the fit
// Poor curves trade Vcmax, J and Rday against each other; S_l says along which line. T by REML (EM
// steps of Laird & Ware 1982, Biometrics 38:963), mu by generalised least squares. Its covariance
// is multiplied by max(1, Q/(N - p)), N values, p means, and intervals are those of t with n - 1,
// after the many variable form of Hartung & Knapp (Jackson & Riley 2014, Stat. Med. 33:541; all
// from memory). Where half of eight leaves are five times as poor as the others, intervals of 95 %
// held 93 to 96 % (tests/stats).
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "stats/pool.hpp"

namespace leafwright {

inline constexpr std::size_t joint_size = 3;

/// One leaf or plant: ln Vcmax, ln J, Rday. Unknown ones are left out of the likelihood.
struct PoolVector {
  std::string unit;
  std::array<double, joint_size> value{};
  std::array<bool, joint_size> known{};
  /// Covariance of the fit, row by row; entries of unknown values are not looked at.
  std::array<double, joint_size * joint_size> covariance{};
};

struct InformationPool {
  std::array<PooledMean, joint_size> means;
  std::array<double, joint_size * joint_size> between{};  ///< T
  double scale = 1;                                       ///< max(1, Q/(N - p))
  bool converged = false;
  /// In the order of the input: mu + T (T + S)^-1 (y - mu), for unknown values too.
  std::vector<std::array<double, joint_size>> shrunken;
};

/// The mean of each unit's leaves, with the covariance of the mean.
std::vector<PoolVector> average_vectors(std::span<const PoolVector> leaves);

/// Errors: unfit, with fewer than three units that know each of the three, or a covariance that is
/// not positive definite (naming the unit).
Result<InformationPool> pool_information(std::span<const PoolVector> units, double level = 0.95);

/// The covariance of (ln Vcmax, ln J, Rday) from standard errors on that scale and correlations
/// (Vcmax, J), (Vcmax, Rday), (J, Rday). A correlation beyond +-0.99 is
/// taken as 0.99: such a matrix is next to singular.
std::array<double, joint_size * joint_size> joint_covariance(
    const std::array<double, joint_size>& se, const std::array<double, joint_size>& correlation);

}  // namespace leafwright
