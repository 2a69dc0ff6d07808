// Both records are equally late, by a path made longer: correction.hpp.
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

Result<PairedFlux> correct_equal_lag(const Frame& frame, const PathNumbers& path) {
  const std::vector<double> S = without_offset(frame, path);
  PairedFlux out{std::vector<double>(S.size()), S};
  for (std::size_t i = 0; i < S.size(); ++i) {
    out.A[i] = frame.gain[i] * (frame.R[i] - frame.dilution[i] * S[i]);
  }
  // R is delayed but not mixed as the chamber mixes: A comes out filtered by the chamber.
  if (frame.options->pairing) out.C = low_pass(frame, S, effective_tau(frame, path));
  return out;
}

}  // namespace leafwright::correction_detail
