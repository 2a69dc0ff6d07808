// A leaf model through the chamber's equation, fitted to the sample record: joint.hpp. The points
// are the model's A and CO2 with the residual of S put on A, so that they carry the record's noise
// and show where the model fails.
#include <algorithm>
#include <cmath>

#include "air/balance.hpp"
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

namespace {

/// g +- E/2 of every row. Neither depends on CO2, so that any CO2s serves.
Result<void> conductances(const Frame& frame, JointInput& out) {
  const std::size_t n = frame.time.size();
  const bool dry = frame.input->leaf->co2_per == Co2Per::dry_air;
  out.g_plus.resize(n);
  out.g_minus.resize(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double E = steady_E(frame.flow[i], frame.area, frame.H2Or[i], frame.H2Os[i]);
    const LeafAir air{400, frame.H2Os[i], frame.Tleaf[i], frame.Patm[i], frame.gbw[i]};
    const auto leaf = leaf_state(E, 1, air, frame.input->air);
    if (!leaf || !leaf->gtc || !(*leaf->gtc > E / 2)) {
      return fail(
          ErrorCode::unfit,
          "row " + std::to_string(frame.input->leaf->rows[i]) + " has no conductance" +
              (leaf ? std::string(": ") + no_leaf_text(leaf->why) : ": " + leaf.error().found),
          "a conductance in every row, which joint needs", "forward and balance do not");
    }
    out.g_plus[i] = (*leaf->gtc + E / 2) / 1000;
    out.g_minus[i] = (*leaf->gtc - E / 2) / 1000 * (dry ? 1 - frame.H2Os[i] / 1000 : 1);
  }
  return {};
}

}  // namespace

Result<PairedFlux> correct_joint(const Frame& frame, const PathNumbers& path, JointFit& fit) {
  JointInput in;
  if (auto ok = conductances(frame, in); !ok) return fail(ok.error());
  const GasPath& known = *frame.input->path;
  const RampRecord& record = *frame.input->leaf;
  in.time_R = frame.time_R;
  in.R = frame.R;
  in.time = frame.time;
  in.S = frame.S;
  in.gain = frame.gain;
  in.dilution = frame.dilution;
  in.tau_s = path.tau_s;
  in.lag_s = path.lag_s;
  in.offset.assign(path.offset.begin(), path.offset.end());
  in.path_covariance = known.covariance;
  in.sd_R = noise_of(record.CO2r);
  in.sd_S = noise_of(record.CO2s);
  in.drift_sd = frame.options->drift_sd;
  in.drift_time_s = frame.options->drift_time_s;
  in.tau_error = frame.options->tau_error;
  // Without a hold before it, what the record began with is forgotten after some time constants.
  const double from =
      frame.R_before ? -1e300 : frame.time.front() + std::max(path.lag_s, 0.0) + 6 * path.tau_s;
  for (std::size_t i = 0; i < frame.time.size(); ++i) {
    const bool known_row = std::isfinite(record.CO2s[i]) && frame.time[i] >= from;
    in.use.push_back(known_row ? 1 : 0);
  }
  auto joint = fit_joint(in, frame.options->joint->model);
  if (!joint) return fail(joint.error());
  fit = std::move(*joint);
  PairedFlux out{fit.A, fit.C};
  for (std::size_t i = 0; i < out.A.size(); ++i) {
    out.A[i] -= frame.gain[i] * frame.dilution[i] * fit.residual[i];
  }
  return out;
}

}  // namespace leafwright::correction_detail
