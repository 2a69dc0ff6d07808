// A simultaneous band for the mean of curves, from resampled units (leaves, or plants).
//
// A resample is n units, each a sum of all units' deviations from the mean with standard normal
// weights over sqrt(n - 1): curves of the same covariance as those measured, without the ties that
// drawing 6 units with replacement has. Each resample gives its own mean and standard error at
// every place, and the largest |mean*|/se* over all places (sup-t). The `level` quantile c of these
// maxima makes the band mean +- c se: with that chance the whole mean curve lies inside, not only
// each place for itself. Drawing units with replacement was tried and holds 97 to 99.8 % at n = 6,
// with bands two to three times as wide. Sources: Montiel Olea & Plagborg-Moller 2019, J. Appl.
// Econometrics 34:1 (sup-t bands); Chernozhukov, Chetverikov & Kato 2013, Ann. Stat. 41:2786
// (normal weights). From memory; the coverage reached is measured (docs/validation-agreement.md).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace leafwright {

/// Fewest units for a band.
inline constexpr std::size_t band_minimum = 4;

struct MeanBand {
  std::vector<double> mean, se, low, high;
  double critical = 0;        ///< c
  double pointwise = 0;       ///< Student's t for one place alone, for comparison
  std::size_t resamples = 0;  ///< N
};

/// `units[u][k]`: unit u at place k; all of one length, finite. Empty with fewer than band_minimum
/// units or no place. Random numbers: stream (seed, "", purpose).
std::optional<MeanBand> mean_band(const std::vector<std::vector<double>>& units,
                                  std::size_t resamples, std::uint64_t seed,
                                  std::string_view purpose, double level = 0.95);

}  // namespace leafwright
