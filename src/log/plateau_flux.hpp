// The plateaus of a continuous log of steps -> fluxes: means first, then fluxes of the means.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <vector>

#include "base/error.hpp"
#include "log/flux.hpp"
#include "log/steps_points.hpp"

namespace leafwright {

/// A log of one row a plateau, taken through the same steps as any other. Its parts point to each
/// other: it stays where it is.
struct PlateauFlux {
  std::optional<Log> log;
  TimeAxis axis;
  Cut cut;
  Equalisations cells;
  Instrument instrument;  ///< that of the rows without its noise: noise of one row is not a mean's
  const Samples* samples = nullptr;
  FluxRows rows;                  ///< screened; plateaus that are not steady are flagged
  std::vector<std::size_t> from;  ///< the first row of the continuous log in each mean
  Notes notes;

  [[nodiscard]] FluxSource source() const {
    return {&*log, &axis, &cut, samples, &instrument, &cells};
  }
};

/// `rows` are those of flux_rows(source, choice), before screening. Errors: usage, for a log
/// without CO2r; refused, where CO2r stands still nowhere; those of flux_rows.
Result<std::unique_ptr<PlateauFlux>> plateau_flux(const FluxSource& source, const FluxRows& rows,
                                                  const FluxChoice& choice, const StepChoice& steps,
                                                  const ScreenChoice& screen);

/// Whether a log is a continuous record of steps rather than one row a point: its curves hold CO2r
/// still for at least `continuous_rows` rows at a time, in the median of their holds, and change
/// it. Common practice, no source.
inline constexpr std::size_t continuous_rows = 6;
bool is_continuous(const FluxSource& source, const StepChoice& steps);

}  // namespace leafwright
