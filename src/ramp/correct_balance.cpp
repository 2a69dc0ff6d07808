// The chamber's balance with its storage term: correction.hpp.
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

Result<PairedFlux> correct_balance(const Frame& frame, const PathNumbers& path) {
  const std::vector<double> S = without_offset(frame, path);
  const double tau = effective_tau(frame, path);
  const QuadraticWindow window(frame.time, frame.options->window_s.value_or(2 * path.tau_s));
  // R goes through the same window, so that A and Ci are smoothed alike.
  const std::vector<double> R = window.smooth(filtered_R(frame, path.lag_s - path.tau_s, 0));
  const std::vector<double> slope = window.slope(S);
  PairedFlux out{std::vector<double>(S.size()), window.smooth(S)};
  for (std::size_t i = 0; i < S.size(); ++i) {
    const double air = out.C[i] + tau * slope[i];
    out.A[i] = frame.gain[i] * (R[i] - frame.dilution[i] * air);
  }
  return out;
}

}  // namespace leafwright::correction_detail
