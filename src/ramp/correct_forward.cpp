// R sent through the path that S took, chamber included: correction.hpp.
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

Result<PairedFlux> correct_forward(const Frame& frame, const PathNumbers& path) {
  const std::vector<double> S = without_offset(frame, path);
  const double tau = effective_tau(frame, path);
  const std::vector<double> R = filtered_R(frame, path.lag_s - path.tau_s, tau);
  PairedFlux out{std::vector<double>(S.size()), S};
  for (std::size_t i = 0; i < S.size(); ++i) {
    out.A[i] = frame.gain[i] * (R[i] - frame.dilution[i] * S[i]);
  }
  if (frame.options->pairing) out.C = low_pass(frame, S, tau);
  return out;
}

}  // namespace leafwright::correction_detail
