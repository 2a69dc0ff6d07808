// What every C3 fit adds to its result in the same way, whichever solver made it.
#pragma once

#include "fit/result.hpp"
#include "fit/rows.hpp"
#include "leaf/response.hpp"

namespace leafwright {

/// Vcmax, J, TPU and Rday moved to 25 degC, with their bounds; nothing where `set` is null. A note
/// where Tleaf is half a kelvin or more away.
void add_at25(CurveFit& out, const ResponseSet* set);

/// Notes where no or few degrees of freedom are left, or where there are so many rows that they are
/// hardly independent.
void note_degrees_of_freedom(CurveFit& out);

/// Takes over how Rday was made from a dark measurement, and says it in a note: a caution where the
/// value was moved by 2 K or more, or is taken as measured at Tleaf.
void note_dark(CurveFit& out, const RdayChoice& rday);

/// Weights 1/sd^2, divided by their mean. Error: unfit, with the place of a row without an sd.
/// `sd_column` is its name, for the error.
Result<std::vector<double>> weights_of(const std::vector<const CurveRow*>& rows,
                                       const std::string& sd_column);

/// Root mean square of residual/sd over the degrees of freedom; empty without any.
std::optional<double> residual_to_sd(const CurveFit& fit);

/// Notes on `out.weighting`: rows that Huber's loss weighs down and by how much, and what the sd
/// given are beside the residuals. A caution where a row counts less than half, or the residuals
/// are twice the sd or half of them (common practice, no source).
void note_weights(CurveFit& out, const UsableRows& usable);

}  // namespace leafwright
