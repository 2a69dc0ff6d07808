#include "ramp/ramp_rows.hpp"

#include <limits>

namespace leafwright {

FluxRows blank_flux_rows(std::size_t n) {
  constexpr double missing = std::numeric_limits<double>::quiet_NaN();
  FluxRows rows;
  for (std::vector<double>* column : {&rows.E, &rows.A, &rows.gsw, &rows.Ci, &rows.VPDleaf,
                                      &rows.A_sd, &rows.Ci_sd, &rows.cov_A_Ci, &rows.CO2s}) {
    column->assign(n, missing);
  }
  rows.use.assign(n, 0);
  rows.repeat.assign(n, 0);
  rows.flags.assign(n, 0);
  rows.why.assign(n, 0);
  rows.noisy = true;
  return rows;
}

void place_ramp(const RampRecord& record, const CorrectedRamp& ramp, FluxRows& rows) {
  for (std::size_t i = 0; i < record.rows.size(); ++i) {
    const std::size_t row = record.rows[i];
    rows.E[row] = ramp.E[i];
    rows.A[row] = ramp.A[i];
    rows.gsw[row] = ramp.gsw[i];
    rows.Ci[row] = ramp.Ci[i];
    rows.VPDleaf[row] = ramp.VPDleaf[i];
    if (!ramp.A_sd.empty()) rows.A_sd[row] = ramp.A_sd[i];
    if (!ramp.Ci_sd.empty()) rows.Ci_sd[row] = ramp.Ci_sd[i];
    if (!ramp.cov_A_Ci.empty()) rows.cov_A_Ci[row] = ramp.cov_A_Ci[i];
    rows.CO2s[row] = ramp.CO2s[i];
    if (ramp.use[i] == 0) {
      rows.leave_out(row, ramp.why[i].empty() ? "not computed" : ramp.why[i]);
    } else {
      rows.use[row] = 1;
    }
  }
}

void leave_out_strays(const std::vector<char>& in_record, FluxRows& rows) {
  for (std::size_t row = 0; row < in_record.size(); ++row) {
    if (in_record[row] == 0) rows.leave_out(row, "no part of a ramp: no time, or a repeat");
  }
}

}  // namespace leafwright
