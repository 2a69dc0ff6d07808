#include "ramp/correction.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "air/balance.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/correction_parts.hpp"
#include "ramp/identify.hpp"

namespace leafwright {

using namespace correction_detail;

namespace {

constexpr std::size_t fewest_points = 5;

struct Named {
  CorrectionMethod method;
  const char* name;
};
constexpr std::array<Named, 7> names = {{{CorrectionMethod::none, "none"},
                                         {CorrectionMethod::subtract, "subtract"},
                                         {CorrectionMethod::equal_lag, "equal-lag"},
                                         {CorrectionMethod::forward, "forward"},
                                         {CorrectionMethod::balance, "balance"},
                                         {CorrectionMethod::joint, "joint"},
                                         {CorrectionMethod::recorded, "recorded"}}};

Result<PairedFlux> run(const Frame& frame, const PathNumbers& path, JointFit& joint) {
  switch (frame.options->method) {
    case CorrectionMethod::none:
      return correct_none(frame, path);
    case CorrectionMethod::subtract:
      return correct_subtract(frame, path);
    case CorrectionMethod::equal_lag:
      return correct_equal_lag(frame, path);
    case CorrectionMethod::forward:
      return correct_forward(frame, path);
    case CorrectionMethod::balance:
      return correct_balance(frame, path);
    case CorrectionMethod::joint:
      return correct_joint(frame, path, joint);
    case CorrectionMethod::recorded:
      return correct_recorded(frame, path);
  }
  throw std::logic_error("an unknown correction");
}

bool pairs(const CorrectionOptions& options) {
  const CorrectionMethod m = options.method;
  return options.pairing && (m == CorrectionMethod::subtract || m == CorrectionMethod::equal_lag ||
                             m == CorrectionMethod::forward);
}

Result<void> check_path(const CorrectionInput& input, const CorrectionOptions& options) {
  const char* name = correction_name(options.method);
  if (!takes_path(options.method)) return {};
  if (input.path == nullptr) {
    return fail(ErrorCode::usage, std::string("correction ") + name + " without a gas path",
                "an empty record (--empty) or an identified path (--path)",
                "record the same programme with the chamber empty");
  }
  if (options.method == CorrectionMethod::subtract && input.empties.empty()) {
    return fail(ErrorCode::usage, "correction subtract without an empty record",
                "the record itself (--empty): a path file does not hold its differential");
  }
  if (options.method == CorrectionMethod::joint && !options.joint) {
    return fail(ErrorCode::usage, "correction joint without a leaf model",
                "a pathway and kinetics, of which the model is made");
  }
  const bool lag_needed =
      options.method != CorrectionMethod::subtract && options.method != CorrectionMethod::equal_lag;
  if (lag_needed && !input.path->lag_s) {
    return fail(ErrorCode::refused,
                "the path's lag is not known from " + join(input.path->records, ", ", 3) +
                    ", and " + name + " needs it",
                "an empty record in which lag and zero offset can be told apart",
                "record holds of 20 s or more before and after the empty ramp, or an up and a down "
                "ramp; subtract works without, at the same rate and direction");
  }
  return {};
}

Result<ConditionReport> compare(const Frame& frame, const CorrectionOptions& options) {
  if (frame.input->path == nullptr || !takes_path(options.method)) {
    return ConditionReport{};
  }
  const auto use = path_use(correction_name(options.method));
  if (!use) return fail(use.error());
  ConditionOptions conditions = options.conditions;
  conditions.volume_known = frame.input->leaf->instrument.chamber_volume.has_value();
  auto report = check_conditions(*frame.input->path, conditions_of(*frame.input->leaf), frame.area,
                                 *use, conditions);
  if (!report || report->worst != ConditionLevel::refuse) return report;
  std::vector<std::string> reasons;
  for (const ConditionFinding& finding : report->findings) {
    if (finding.level == ConditionLevel::refuse) reasons.push_back(finding.text);
  }
  return fail(ErrorCode::refused,
              std::string("the empty record does not fit the leaf's for ") +
                  correction_name(options.method) + ": " + join(reasons, "; "),
              "an empty record of the same conditions",
              "record one, or use forward, which accepts another rate and direction");
}

EndRule rule_for(const Frame& frame, const PathNumbers& path, const CorrectionUsed& used) {
  const CorrectionOptions& options = *frame.options;
  EndRule rule;
  rule.tau_s = path.tau_s;
  rule.lag_s = path.lag_s;
  rule.delay_s = std::max(used.delay_s.value_or(0), 0.0);
  rule.gain = frame.median_gain;
  rule.epsilon = options.epsilon;
  rule.trim_s = options.trim_s;
  switch (options.method) {
    case CorrectionMethod::none:
    case CorrectionMethod::equal_lag:
      rule.least_multiple = options.mixed_volume ? 6 : 5;
      break;
    case CorrectionMethod::subtract:
      rule.least_multiple = 4;
      break;
    case CorrectionMethod::recorded:  // CO2s is read so much later
      rule.delay_s = std::max(-frame.late_s, 0.0);
      rule.lag_s = std::max(frame.late_s, 0.0);
      rule.least_multiple = 3;
      break;
    case CorrectionMethod::balance:
      rule.least_multiple = 3;
      break;
    case CorrectionMethod::forward:
      rule.least_multiple = 2;
      break;
    case CorrectionMethod::joint:
      rule.least_multiple = 0;
      rule.trim = false;
      break;
  }
  rule.by_size =
      options.method == CorrectionMethod::none || options.method == CorrectionMethod::equal_lag;
  return rule;
}

/// Rows behind a gap whose history is not in the record.
void leave_out_gaps(const RampRecord& record, double seconds, std::vector<std::string>& why) {
  const double usual = usual_interval(record);
  double until = -1e300;
  for (std::size_t i = 0; i < record.size(); ++i) {
    const double step = i > 0 ? record.time_s[i] - record.time_s[i - 1] : 0;
    const bool still = i > 0 && std::abs(record.CO2r[i] - record.CO2r[i - 1]) < 1;
    if (step > 3 * usual && step >= 2 && !still) until = record.time_s[i] + seconds;
    if (record.time_s[i] < until && why[i].empty()) why[i] = "behind a gap in the record";
    if (!std::isfinite(record.CO2r[i]) && why[i].empty()) why[i] = "CO2r is missing";
    if (!std::isfinite(record.CO2s[i]) && why[i].empty()) why[i] = "CO2s is missing";
  }
}

/// gsw, Ci and the rest of every row. The conductance goes to `inputs`.
void finish_rows(const Frame& frame, const PairedFlux& flux, CorrectedRamp& out,
                 RampErrorInputs& inputs) {
  const std::size_t n = frame.time.size();
  const bool dry = frame.input->leaf->co2_per == Co2Per::dry_air;
  out.A = flux.A;
  for (auto* series : {&out.E, &out.gsw, &out.Ci, &out.VPDleaf, &out.CO2s}) {
    series->assign(n, not_given);
  }
  inputs.to_moist.assign(n, 1);
  inputs.g_plus.assign(n, not_given);
  inputs.g_minus.assign(n, not_given);
  for (std::size_t i = 0; i < n; ++i) {
    if (dry) inputs.to_moist[i] = 1 - frame.H2Os[i] / 1000;
    out.E[i] = steady_E(frame.flow[i], frame.area, frame.H2Or[i], frame.H2Os[i]);
    out.CO2s[i] = flux.C[i] * inputs.to_moist[i];
    std::string& why = out.why[i];
    if (!std::isfinite(flux.A[i]) || !std::isfinite(flux.C[i])) {
      if (why.empty()) why = "outside the range of CO2r of the empty record";
      out.A[i] = not_given;
      continue;
    }
    const LeafAir air{out.CO2s[i], frame.H2Os[i], frame.Tleaf[i], frame.Patm[i], frame.gbw[i]};
    const auto leaf = leaf_state(out.E[i], out.A[i], air, frame.input->air);
    if (!leaf) {
      if (why.empty()) why = leaf.error().found;
      continue;
    }
    out.VPDleaf[i] = leaf->VPDleaf;
    if (leaf->gsw) out.gsw[i] = *leaf->gsw;
    if (leaf->Ci) out.Ci[i] = *leaf->Ci;
    if (leaf->gtc) {
      inputs.g_plus[i] = (*leaf->gtc + out.E[i] / 2) / 1000;
      inputs.g_minus[i] = (*leaf->gtc - out.E[i] / 2) / 1000;
    }
    if (!leaf->Ci && why.empty()) why = no_leaf_text(leaf->why);
  }
}

std::string most_frequent(const std::vector<std::string>& why) {
  std::map<std::string, std::size_t> times;
  for (const std::string& one : why) ++times[one];
  times.erase("");
  const auto most = std::max_element(
      times.begin(), times.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == times.end() ? "" : most->first + " (" + counted(most->second, "row") + ")";
}

NoiseRoute route_of(const Frame& frame, const PathNumbers& path) {
  const CorrectionOptions& options = *frame.options;
  NoiseRoute route;
  const double tau = effective_tau(frame, path);
  if (options.method == CorrectionMethod::forward || options.method == CorrectionMethod::joint) {
    route.delay_s = path.lag_s - path.tau_s;
    route.mixing_s = tau;
  } else if (options.method == CorrectionMethod::balance) {
    route.delay_s = path.lag_s - path.tau_s;
    route.window_s = options.window_s.value_or(2 * path.tau_s);
    route.derivative_s = tau;
  }
  if (pairs(options) || options.method == CorrectionMethod::joint) route.pairing_s = tau;
  return route;
}

/// How A and C move with the numbers of the path: the correction once more with each changed.
/// Linear filters of a smooth record: a one-sided difference of a small step is exact enough.
Result<void> add_path_errors(const Frame& frame, const PathNumbers& path, const PairedFlux& base,
                             RampErrorInputs& inputs) {
  const CorrectionOptions& options = *frame.options;
  const GasPath* known = frame.input->path;
  if (known == nullptr || !takes_path(options.method)) return {};
  constexpr std::size_t q = 5;  // lag, c0, c1, c2, tau
  const std::array<double, q> step = {0.05, 0.1, 0.1, 0.1, 0.01 * path.tau_s};
  JointFit ignored;
  Frame same = frame;
  CorrectionOptions as_forward = options;
  const bool joint = options.method == CorrectionMethod::joint;
  if (joint) as_forward.method = CorrectionMethod::forward;
  same.options = &as_forward;
  const auto from = joint ? run(same, path, ignored) : Result<PairedFlux>(base);
  if (!from) return fail(from.error());
  for (std::size_t k = 0; k < q; ++k) {
    PathNumbers moved = path;
    if (k == 0) moved.lag_s += step[k];
    if (k >= 1 && k <= 3) moved.offset[k - 1] += step[k];
    if (k == 4) moved.tau_s += step[k];
    const auto to = run(same, moved, ignored);
    if (!to) return fail(to.error());
    std::vector<double> A(base.A.size()), C(base.A.size());
    for (std::size_t i = 0; i < A.size(); ++i) {
      A[i] = (to->A[i] - from->A[i]) / step[k];
      C[i] = (to->C[i] - from->C[i]) / step[k];
      if (!std::isfinite(A[i])) A[i] = 0;  // not a point: outside the empty record
    }
    inputs.A_by_path.push_back(std::move(A));
    inputs.C_by_path.push_back(std::move(C));
  }
  inputs.path_covariance.assign(q * q, 0);
  for (std::size_t k = 0; k < 4; ++k) {
    for (std::size_t l = 0; l < 4; ++l) {
      inputs.path_covariance[k * q + l] = known->covariance[k * 4 + l];
    }
  }
  const double tau_sd = options.tau_error * path.tau_s;
  inputs.path_covariance[4 * q + 4] = tau_sd * tau_sd;
  return {};
}

Result<void> add_errors(const Frame& frame, const PathNumbers& path, const PairedFlux& flux,
                        RampErrorInputs inputs, CorrectedRamp& out) {
  inputs.time_R = frame.time_R;
  inputs.time = frame.time;
  inputs.gain = frame.gain;
  inputs.dilution = frame.dilution;
  inputs.route = route_of(frame, path);
  inputs.sd_R = noise_of(frame.input->leaf->CO2r);
  inputs.sd_S = noise_of(frame.input->leaf->CO2s);
  inputs.drift_sd = frame.options->drift_sd;
  inputs.drift_time_s = frame.options->drift_time_s;
  inputs.looked_up = flux.looked_up;
  if (auto ok = add_path_errors(frame, path, flux, inputs); !ok) return ok;
  auto errors = std::make_shared<const RampErrors>(std::move(inputs));
  const std::vector<PointErrors> points = errors->points();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const bool known = std::isfinite(out.A[i]);
    out.A_sd.push_back(known ? points[i].A_sd : not_given);
    out.Ci_sd.push_back(known ? points[i].Ci_sd : not_given);
    out.cov_A_Ci.push_back(known ? points[i].cov_A_Ci : not_given);
  }
  out.errors = std::move(errors);
  return {};
}

/// `equal-lag` is right only where the lags are equal: what is left of the lag, times the rate, is
/// an error of the differential. Refused above 1 umol/mol, warned of above 0.1 (the verdict of
/// `path`).
Result<void> check_equal(const Frame& frame, CorrectedRamp& out) {
  if (frame.options->method != CorrectionMethod::equal_lag) return {};
  if (!out.used.lag_s) {
    out.notes.push_back({NoteLevel::warning, "lags-not-shown",
                         "nothing shows that the lags of the two paths are equal"});
    return {};
  }
  const double rate = fastest_rate(frame.programme);
  const double left = std::abs(*out.used.lag_s) * rate;
  const std::string text = "the sample record is late by " + print_rounded(*out.used.lag_s, 3) +
                           " s: at this rate an error of " + print_rounded(left, 3) +
                           " umol/mol, or " + print_rounded(out.used.gain * left, 3) +
                           " umol m-2 s-1 of A";
  if (left > 1) {
    return fail(ErrorCode::refused, "the lags are not equal: " + text,
                "equal lags for --correction equal-lag", "use forward, which knows the lag");
  }
  if (left > 0.1) out.notes.push_back({NoteLevel::warning, "lags-not-equal", text});
  return {};
}

}  // namespace

const char* correction_name(CorrectionMethod method) {
  for (const Named& one : names) {
    if (one.method == method) return one.name;
  }
  throw std::logic_error("an unknown correction");
}

bool takes_path(CorrectionMethod method) {
  return method != CorrectionMethod::none && method != CorrectionMethod::recorded;
}

Result<CorrectionMethod> find_correction(std::string_view name) {
  std::vector<std::string> known;
  for (const Named& one : names) {
    if (name == one.name) return one.method;
    known.emplace_back(one.name);
  }
  return fail(ErrorCode::usage, "'" + std::string(name) + "' is not a correction",
              "one of " + join(known), suggest_name(name, known));
}

std::size_t CorrectedRamp::kept() const {
  return static_cast<std::size_t>(std::count(use.begin(), use.end(), char{1}));
}

Result<CorrectedRamp> correct(const CorrectionInput& input, const CorrectionOptions& options) {
  if (auto ok = check_path(input, options); !ok) return fail(ok.error());
  if (auto ok = check_options(input.air, true); !ok) return fail(ok.error());
  auto frame = make_frame(input, options);
  if (!frame) return fail(frame.error());
  CorrectedRamp out;
  out.used.method = options.method;
  out.used.pairing = pairs(options);
  out.used.area = frame->area;
  out.used.flow = frame->median_flow;
  out.used.gain = frame->median_gain;
  out.used.dilution = frame->dil;
  const auto path = path_at_leaf(*frame, out.used, out.notes);
  if (!path) return fail(path.error());
  out.water = frame->water;
  if (auto ok = look_at_recorded(*frame, *path, out); !ok) return fail(ok.error());
  if (auto equal = check_equal(*frame, out); !equal) return fail(equal.error());
  if (options.method == CorrectionMethod::balance) {
    out.used.window_s = options.window_s.value_or(2 * path->tau_s);
  }
  auto report = compare(*frame, options);
  if (!report) return fail(report.error());
  out.conditions = std::move(*report);
  out.ends = ramp_ends(*input.leaf, frame->programme, rule_for(*frame, *path, out.used));
  if (out.ends.ramps.empty()) {
    return fail(ErrorCode::unfit, input.leaf->name + " has no ramp: CO2r does not move for 20 s",
                "a ramp, or steps", "records at steady state go through 'leafwright flux'");
  }
  JointFit joint;
  const auto flux = run(*frame, *path, joint);
  if (!flux) return fail(flux.error());
  if (options.method == CorrectionMethod::joint) out.joint = std::move(joint);
  out.why = out.ends.why;
  leave_out_gaps(*input.leaf, std::max(path->lag_s, 0.0) + 6 * path->tau_s, out.why);
  leave_out_unrecorded(*frame, out.why);
  RampErrorInputs inputs;
  finish_rows(*frame, *flux, out, inputs);
  for (const std::string& why : out.why) out.use.push_back(why.empty() ? 1 : 0);
  if (out.kept() < fewest_points) {
    return fail(ErrorCode::unfit,
                input.leaf->name + ": " + counted(out.kept(), "row") +
                    " left; most were left out: " + most_frequent(out.why),
                "at least " + std::to_string(fewest_points),
                "where the ends of the ramp took them, a longer ramp, or a correction that leaves "
                "out less (forward, joint); else see to what is named");
  }
  // The noise of a recorded A is not that of the columns.
  if (options.method != CorrectionMethod::recorded) {
    auto ok = add_errors(*frame, *path, *flux, std::move(inputs), out);
    if (!ok) return fail(ok.error());
  }
  add_notes(*frame, *path, out);
  return out;
}

}  // namespace leafwright
