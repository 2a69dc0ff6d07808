// Inside correction.cpp and correct_NAME.cpp: the record made ready, and what each correction gives
// back. One correction is one file and one function; the dispatch is in correction.cpp.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "ramp/align_water.hpp"
#include "ramp/correction.hpp"
#include "ramp/filter.hpp"
#include "ramp/record_programme.hpp"

namespace leafwright::correction_detail {

/// What is uncertain about the path, at the leaf's conditions. Sensitivities come from calling a
/// correction again with one of these changed.
struct PathNumbers {
  double lag_s = 0;
  std::array<double, 3> offset = {};  ///< of S - R in CO2/1000
  double tau_s = 0;
};

/// The record on the times of S, without holes, per row.
struct Frame {
  const CorrectionInput* input = nullptr;
  const CorrectionOptions* options = nullptr;
  Programme programme;
  std::vector<double> time;        ///< middle of what CO2s averages
  std::vector<double> time_R;      ///< the same of CO2r
  double averaging_s = 0;          ///< to lay on R so that both are averaged alike
  std::vector<double> R, S;        ///< as logged, holes bridged
  std::optional<double> R_before;  ///< where a hold shows what was before the record
  std::vector<double> gain;        ///< k, (1 - Wr) in it where CO2 is per dry air
  std::vector<double> dilution;    ///< what S is multiplied with; 1 for dry air
  std::vector<double> H2Or, H2Os, Tleaf, Patm, flow, gbw;  ///< means over water_mean_s
  double dil = 1;  ///< median (1 - Wr)/(1 - Ws), whatever CO2 counts
  double area = 0, median_flow = 0, median_gain = 0;
  double late_s = 0;                    ///< recorded: S belongs to A of so much earlier
  std::optional<WaterAlignment> water;  ///< empty: not looked at
};

/// Uptake and the CO2 that belongs to it, both as the correction sees them.
struct PairedFlux {
  std::vector<double> A;
  std::vector<double> C;                   ///< in the units of S (moist or dry)
  std::optional<LookedUp> looked_up = {};  ///< where a differential was
};

/// S less the offset: off at the CO2 that the cell holds, one step of fixed point (off' ~ 1e-3).
std::vector<double> without_offset(const Frame& frame, const PathNumbers& path);
/// F_{delay,mixing} * R at the times of S.
std::vector<double> filtered_R(const Frame& frame, double delay_s, double mixing_s);
/// F_{0,tau} * S.
std::vector<double> low_pass(const Frame& frame, const std::vector<double>& S, double tau_s);
/// tau/dil.
double effective_tau(const Frame& frame, const PathNumbers& path);

Result<PairedFlux> correct_none(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_subtract(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_equal_lag(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_forward(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_balance(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_recorded(const Frame& frame, const PathNumbers& path);
Result<PairedFlux> correct_joint(const Frame& frame, const PathNumbers& path, JointFit& fit);

/// Errors: usage, for what the record or the instrument lacks.
Result<Frame> make_frame(const CorrectionInput& input, const CorrectionOptions& options);

/// Path, tau and notes at the leaf's conditions.
Result<PathNumbers> path_at_leaf(const Frame& frame, CorrectionUsed& used, Notes& notes);

/// How was the recorded A made, and does that allow the correction? Sets frame.late_s and
/// out.alignment. Error: refused, columns whose lag was taken out before; a recorded A that holds
/// no correction, or does not tell, for `recorded`.
Result<void> look_at_recorded(Frame& frame, const PathNumbers& path, CorrectedRamp& out);
/// Rows without a recorded A, or whose CO2s is past the end of the record.
void leave_out_unrecorded(const Frame& frame, std::vector<std::string>& why);
/// Fastest change of CO2r that lasts 20 s, umol mol-1 s-1.
double fastest_rate(const Programme& programme);

/// Says what must be said; sets used.r_tau.
void add_notes(const Frame& frame, const PathNumbers& path, CorrectedRamp& out);

}  // namespace leafwright::correction_detail
