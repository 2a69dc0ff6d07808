// What must be said of a corrected ramp.
#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

namespace {

std::string shown(double value, int digits = 3) {
  return print_rounded(value, digits);
}

double fastest(const Frame& frame) {
  return frame.programme.steps ? 0 : fastest_rate(frame.programme);
}

/// The size of the bias of Ci without lag pairing: dCi = rho tau (g - E/2)/(g + E/2), from the
/// points themselves (dA/dC by a straight line over the ramp).
double pairing_bias(const Frame& frame, const PathNumbers& path, const CorrectedRamp& out) {
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (std::size_t i = 0; i < out.A.size(); ++i) {
    if (out.use[i] == 0) continue;
    n += 1;
    x += out.CO2s[i];
    y += out.A[i];
    xx += out.CO2s[i] * out.CO2s[i];
    xy += out.CO2s[i] * out.A[i];
  }
  const double det = n * xx - x * x;
  const double slope = det > 0 ? (n * xy - x * y) / det : 0;
  return fastest(frame) / (1 + slope / frame.median_gain) * path.tau_s;
}

void note_pairing(const Frame& frame, const PathNumbers& path, CorrectedRamp& out) {
  const CorrectionMethod m = out.used.method;
  const bool filtered = m == CorrectionMethod::subtract || m == CorrectionMethod::equal_lag ||
                        m == CorrectionMethod::forward;
  if (!filtered || out.used.pairing) return;
  out.notes.push_back(
      {NoteLevel::warning, "pairing-off",
       "Ci was computed from CO2s as it stands: A lags it by the chamber's " + shown(path.tau_s) +
           " s, which shifts the curve by about " + shown(pairing_bias(frame, path, out)) +
           " umol/mol of Ci, up ramps to higher Ci and down ramps to lower; leave the pairing on "
           "to have it removed"});
}

void note_speed(const Frame& frame, const PathNumbers& path, CorrectedRamp& out) {
  out.used.r_tau = fastest(frame) * path.tau_s;
  const bool by_filter = takes_path(out.used.method) &&
                         out.used.method != CorrectionMethod::balance &&
                         out.used.method != CorrectionMethod::joint;
  if (!by_filter || out.used.r_tau <= frame.options->filter_limit) return;
  out.notes.push_back(
      {NoteLevel::warning, "too-fast-for-filters",
       "CO2 moves by " + shown(out.used.r_tau) + " umol/mol within the chamber's time constant, " +
           "more than " + shown(frame.options->filter_limit) +
           ": a filtered A no longer belongs to a filtered Ci where the curve bends; use balance "
           "or joint, or a slower ramp"});
}

void note_offset(const Frame& frame, CorrectedRamp& out) {
  const GasPath* path = frame.input->path;
  if (!takes_path(out.used.method) || path == nullptr) return;
  if (!path->lag_s && out.used.method != CorrectionMethod::subtract) {
    out.notes.push_back(
        {NoteLevel::warning, "offset-and-lag",
         "the empty record cannot tell the lag from the zero offset: what was taken "
         "off CO2s is both together"});
  }
  std::size_t beyond = 0;
  double low = 1e300, high = -1e300;
  for (std::size_t i = 0; i < out.CO2s.size(); ++i) {
    if (out.use[i] == 0 || !std::isfinite(out.CO2s[i])) continue;
    low = std::min(low, out.CO2s[i]);
    high = std::max(high, out.CO2s[i]);
    const bool inside =
        frame.S[i] >= path->conditions.CO2_low - 5 && frame.S[i] <= path->conditions.CO2_high + 5;
    beyond += inside ? 0 : 1;
  }
  if (beyond == 0) return;
  out.notes.push_back({NoteLevel::caution, "offset-extrapolated",
                       counted(beyond, "row") + " with CO2s outside the empty record's " +
                           shown(path->conditions.CO2_low, 4) + " to " +
                           shown(path->conditions.CO2_high, 4) +
                           " umol/mol (the leaf's: " + shown(low, 4) + " to " + shown(high, 4) +
                           "): the offset is extrapolated there"});
}

/// Water has a lag of its own, which the CO2 path does not tell. What it could do is bounded by how
/// fast the water moves.
void note_water(const Frame& frame, CorrectedRamp& out) {
  if (frame.water) out.notes.push_back(water_note(*frame.water));
  double steepest = 0;
  for (std::size_t i = 1; i < frame.time.size(); ++i) {
    if (out.use[i] == 0 || out.use[i - 1] == 0) continue;
    const double slope = (frame.H2Os[i] - frame.H2Os[i - 1]) / (frame.time[i] - frame.time[i - 1]);
    steepest = std::max(steepest, std::abs(slope));
  }
  double highest = 0;
  for (const double CO2 : frame.S) highest = std::max(highest, CO2);
  const double per_second = frame.median_gain * highest * steepest / 1000;
  out.notes.push_back(
      {per_second * 10 > 0.2 ? NoteLevel::caution : NoteLevel::info, "water-lag",
       "water is taken as recorded, its mean over " + shown(frame.options->water_mean_s) +
           " s: the lag of water vapour is not that of CO2 and is not known from empty records. "
           "H2Os moves by at most " +
           shown(steepest, 2) +
           " mmol/mol/s here, so that 10 s of lag "
           "are at most " +
           shown(10 * per_second, 2) + " umol m-2 s-1 of A"});
}

void note_turn(const Frame& frame, CorrectedRamp& out) {
  if (!frame.programme.turns) return;
  out.notes.push_back(
      {NoteLevel::caution, "ramp-turns",
       "CO2r goes up and down in this record: the points of both directions are in one curve. A "
       "leaf "
       "that follows CO2 with a lag of its own then gives two branches; look at both"});
}

void note_ends(CorrectedRamp& out) {
  for (const RampEnds& one : out.ends.ramps) {
    if (one.start_seen || one.stretch.kind == Stretch::Kind::hold) continue;
    out.notes.push_back({NoteLevel::caution, "start-not-seen",
                         "the ramp was running when the record began: what was in the chamber "
                         "before is not known, and the first " +
                             shown(one.discard_s) +
                             " s are left out; record a hold of 20 s before"});
  }
}

}  // namespace

double fastest_rate(const Programme& programme) {
  double rate = 0;
  for (const Stretch& stretch : programme.stretches) {
    if (stretch.seconds >= 20) rate = std::max(rate, std::abs(stretch.rate));
  }
  return rate;
}

void add_notes(const Frame& frame, const PathNumbers& path, CorrectedRamp& out) {
  note_pairing(frame, path, out);
  note_speed(frame, path, out);
  note_offset(frame, out);
  note_water(frame, out);
  note_ends(out);
  note_turn(frame, out);
  if (const auto step = flow_step(*frame.input->leaf, 0.015)) {
    out.notes.push_back({NoteLevel::warning, "flow-steps",
                         "the chamber flow steps from " + shown(step->before, 4) + " to " +
                             shown(step->after, 4) +
                             " umol/s within the record: lag and time "
                             "constant are those of its median"});
  }
  for (const ConditionFinding& finding : out.conditions.findings) {
    if (finding.level != ConditionLevel::warn) continue;
    out.notes.push_back({NoteLevel::warning, "condition-" + finding.about, finding.text});
  }
  const Notes& of_record = frame.input->leaf->notes;
  out.notes.insert(out.notes.end(), of_record.begin(), of_record.end());
}

}  // namespace leafwright::correction_detail
