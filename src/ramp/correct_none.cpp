// The fluxes as the steady-state equations give them.
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

Result<PairedFlux> correct_none(const Frame& frame, const PathNumbers& path) {
  // Nothing of the path is used: what this gives on a ramp is the size of the problem.
  const std::size_t n = frame.time.size();
  PairedFlux out{std::vector<double>(n), frame.S};
  (void)path;
  for (std::size_t i = 0; i < n; ++i) {
    out.A[i] = frame.gain[i] * (frame.R[i] - frame.dilution[i] * frame.S[i]);
  }
  return out;
}

}  // namespace leafwright::correction_detail
