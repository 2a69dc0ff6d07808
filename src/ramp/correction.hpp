// From a leaf's ramp to points of A against Ci. On a ramp R (CO2r) and S (CO2s) of one moment are
// not the same air: S is late by the path (dead time d) and mixed by the chamber (tau). With
// k = u/s, dil = (1 - Wr)/(1 - Ws), tau_e = tau/dil, F the path's filter, off its offset:
//
//   none       A = k [R - dil S]                               nothing is corrected
//   subtract   A = k [R + D(R) - dil S]                        D: S dil - R of an empty record
//   equal-lag  A = k [R - dil (S - off)]                       lags made equal in hardware
//   forward    A = k [F_{d,tau_e} * R - dil (S - off)]         d = L - tau (the default)
//   balance    A = k [R(t-d) - dil (S - off) - tau dS/dt]      quadratics over a window <= 2 tau
//   joint      a leaf model through the chamber's equation, fitted to S (joint.hpp)
//   recorded   A as the log has it; S read as much later as A is early (align.hpp)
//
// All but `none`, `balance`, `joint` and `recorded` give A as the chamber filters it. Their Ci is
// therefore computed from S - off filtered by the same tau_e ("lag pairing"): without it A lags its
// own Ci by tau, and the curve is shifted sideways by
//   dCi = rho tau (g - E/2)/(g + E/2),   rho = r/(1 + (s/u) dA/dC)
// CO2 per dry air: the same with dil = 1 and k (1 - Wr). Derivations: docs/methods-ramps.md.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"
#include "ramp/align.hpp"
#include "ramp/align_water.hpp"
#include "ramp/conditions.hpp"
#include "ramp/covariance.hpp"
#include "ramp/ends.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/gas_path_filter.hpp"
#include "ramp/joint.hpp"
#include "ramp/record.hpp"

namespace leafwright {

enum class CorrectionMethod { none, subtract, equal_lag, forward, balance, joint, recorded };
/// "none", "subtract", "equal-lag", "forward", "balance", "joint", "recorded".
const char* correction_name(CorrectionMethod method);
/// Does it take a gas path? `none` and `recorded` do not.
bool takes_path(CorrectionMethod method);
/// Error: usage, naming all of them.
Result<CorrectionMethod> find_correction(std::string_view name);

struct CorrectionOptions {
  CorrectionMethod method = CorrectionMethod::forward;
  bool pairing = true;             ///< false: Ci from S as it stands; biased, and said
  double water_mean_s = 30;        ///< mean over H2O, Tleaf, flow before use
  std::optional<double> window_s;  ///< of balance; empty: 2 tau
  double epsilon = 0.1;            ///< error of A at which a start counts as over
  double trim_s = 5;               ///< beyond the lag, before CO2r stops
  bool mixed_volume = false;       ///< equal-lag by a mixed volume: 6 tau instead of 5
  double drift_sd = 0.03;          ///< of the differential, umol mol-1
  double drift_time_s = 400;
  double tau_error = 0.02;            ///< relative standard error of tau
  double filter_limit = 30;           ///< r tau above which filters are no longer good, umol mol-1
  ConditionOptions conditions;        ///< where an empty record stops fitting the leaf's
  std::optional<JointOptions> joint;  ///< the leaf model; needed by joint
  bool look_at_alignment = true;      ///< how was the recorded A made? `recorded` always looks
  std::optional<double> columns_late_s;  ///< recorded: stated, in place of what is found
};

/// Everything a correction takes.
struct CorrectionInput {
  const RampRecord* leaf = nullptr;
  const GasPath* path = nullptr;          ///< may be null where takes_path() says no
  std::span<const RampRecord> empties{};  ///< needed by `subtract`
  FluxOptions air;                        ///< how gsw and Ci follow from E and A
  std::optional<double> gbw;              ///< mmol m-2 s-1, where the record has none
};

/// What the numbers were made with.
struct CorrectionUsed {
  CorrectionMethod method = CorrectionMethod::none;
  bool pairing = false;
  double area = 0;                       ///< cm2
  double flow = 0;                       ///< median, umol s-1
  double gain = 0;                       ///< median k, mol m-2 s-1
  double dilution = 1;                   ///< median dil
  std::optional<double> tau_s;           ///< of the chamber at the leaf's conditions
  std::string tau_from;                  ///< "chamber volume" or "the path's mixing"
  std::optional<double> lag_s, delay_s;  ///< at the leaf's conditions
  std::optional<double> window_s;        ///< of balance
  double r_tau = 0;                      ///< fastest ramp times tau, umol mol-1
  bool offset_removed = false;
};

/// One value a row of the record. Not a number where it cannot be computed; then use is 0.
struct CorrectedRamp {
  std::vector<double> A, E, gsw, Ci, VPDleaf;
  std::vector<double> CO2s;  ///< as Ci was computed from it, per moist air
  std::vector<double> A_sd, Ci_sd, cov_A_Ci;
  std::vector<char> use;
  std::vector<std::string> why;  ///< "" where used
  Ends ends;
  ConditionReport conditions;
  CorrectionUsed used;
  std::optional<JointFit> joint;
  std::optional<Alignment> alignment;        ///< empty: not looked at
  std::optional<WaterAlignment> water;       ///< empty: not looked at
  std::shared_ptr<const RampErrors> errors;  ///< for the covariance of fitted parameters
  Notes notes;
  [[nodiscard]] std::size_t kept() const;
};

/// Corrects. Notes, about: "pairing-off", "too-fast-for-filters", "offset-extrapolated",
/// "offset-not-removed", "water-lag", "water-columns", "water-late", "flow-steps",
/// "start-not-seen", "tau-from-path", "lag-moved", "condition-...", those of the alignment and of
/// the record. Errors: usage, a missing path, volume, area, flow, water, gbw or model, each named
/// with where to state it; refused, an empty record whose conditions do not allow `subtract`, or a
/// lag that the path does not know, or columns whose lag was taken out before; unfit, a ramp too
/// short to leave 5 rows or no ramp at all.
Result<CorrectedRamp> correct(const CorrectionInput& input, const CorrectionOptions& options = {});

}  // namespace leafwright
