// How much noise of the records reaches E, A, gsw and Ci, and how A and Ci move together.
//
// Linearised: covariance = sum over inputs k of (d out_i/d x_k)(d out_j/d x_k) sd_k^2, derivatives
// by central differences of flux(). Inputs are taken as independent of each other; each in turn
// moves all outputs, which is why A and Ci covary (mostly by CO2s and CO2r: a record that reads A
// too high puts Ci too low). Right while every relative error is small: near gsw = 0 it is not, and
// flags.hpp says so.
//
// Not among the inputs, so not in the numbers: the leak's K and ambient air, the volume of the
// chamber, the stomatal ratio, and the choice of equations.
//
// An sd is of what enters the row: sd of the mean, where the row is one. Errors that all rows of a
// curve share (area, a zero offset) make all rows wrong together: to see them alone, give only
// theirs.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string_view>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"

namespace leafwright {

/// What can be noisy, each in the unit of FluxInput.
enum class NoisyInput {
  CO2r,
  CO2s,
  H2Or,
  H2Os,
  flow,
  area,
  Tleaf,
  Patm,
  gbw,
  dCO2s_dt,
  dH2Os_dt,
};
inline constexpr std::size_t noisy_input_count = 11;
/// "CO2r", ..., "gbw", "dCO2s_dt", "dH2Os_dt".
std::string_view noisy_input_name(NoisyInput input);

/// Standard deviations; an empty one is not stated, and reported as such.
struct InputSd {
  std::array<std::optional<double>, noisy_input_count> sd = {};
  std::optional<double>& operator[](NoisyInput input) {
    return sd[static_cast<std::size_t>(input)];
  }
  const std::optional<double>& operator[](NoisyInput input) const {
    return sd[static_cast<std::size_t>(input)];
  }
};

enum class FluxOutput { E, A, gsw, Ci };
inline constexpr std::size_t flux_output_count = 4;

/// Standard deviations and covariances of one record's results, in their units.
struct FluxNoise {
  double E = 0, A = 0;
  /// Empty where the result itself is, or where it is gone a hundred-thousandth away: Ci beside
  /// gsw = 0, both beside VPD 0 and the limit of the boundary layer.
  std::optional<double> gsw, Ci;
  std::optional<double> cov_A_Ci;

  /// moved[k][i]: by how much output i moves for one sd of input k, sign kept. Sums of products
  /// over k are the covariances. Outputs without an sd hold 0.
  std::array<std::array<double, flux_output_count>, noisy_input_count> moved = {};
  /// Covariance of two outputs.
  [[nodiscard]] double covariance(FluxOutput a, FluxOutput b) const;

  /// Inputs of this record whose sd is not stated: their part is missing from the numbers above.
  std::vector<NoisyInput> not_stated;
};

/// Errors: as flux(); usage, for an sd that is negative or not finite; unfit, where an input
/// stands so close to the end of its range (Tleaf 60 degC) that it cannot be varied.
Result<FluxNoise> flux_noise(const FluxInput& input, const FluxOptions& options, const InputSd& sd);

}  // namespace leafwright
