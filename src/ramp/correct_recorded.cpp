// The recorded A as it stands, and the CO2s that belongs to it; and whether the recorded A says
// that a lag was taken out before (align.hpp).
#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "ramp/correction_parts.hpp"

namespace leafwright::correction_detail {

namespace {

/// An error of the differential above this is refused, umol mol-1: as for lags that are not equal.
constexpr double too_much = 1;

Result<void> refuse_twice(const Frame& frame, const PathNumbers& path, const Alignment& found) {
  if (!takes_path(frame.options->method) || found.made != RecordedA::balance) return {};
  const double delay = path.lag_s - path.tau_s,
               left = std::abs(delay) * fastest_rate(frame.programme);
  if (left <= too_much) return {};
  return fail(
      ErrorCode::refused,
      frame.input->leaf->name +
          ": the recorded A is the balance with storage of these columns, to "
          "within " +
          print_rounded(found.misfit_as_is, 2) +
          " umol m-2 s-1, so a lag was taken out of CO2r and CO2s before; the gas path would take "
          "out another " +
          print_rounded(delay, 3) + " s, " + print_rounded(left, 3) + " umol/mol at this rate",
      "columns with their lag, or a gas path identified in a record treated the same way",
      "use the recorded A (correction recorded); or, where the columns are raw, say so: "
      "alignment off");
}

Result<void> allow_recorded(Frame& frame, const Alignment& found) {
  if (frame.options->method != CorrectionMethod::recorded) return {};
  const std::string& name = frame.input->leaf->name;
  if (found.made == RecordedA::steady || found.made == RecordedA::shifted) {
    return fail(ErrorCode::refused,
                name + ": the recorded A is the " + recorded_A_name(found.made) +
                    " of these columns, so the lag of the gas path is still in it",
                "a recorded A that holds a balance with storage",
                "use forward with an empty record");
  }
  if (found.made == RecordedA::not_told && !frame.options->columns_late_s) {
    return fail(ErrorCode::refused,
                name + ": the record does not tell from what moment the recorded A is (CO2s " +
                    print_rounded(found.late_low, 3) + " to " + print_rounded(found.late_high, 3) +
                    " s late, misfit " + print_rounded(found.misfit, 2) + " umol m-2 s-1)",
                "a record that tells, or the lateness stated",
                "state columns-late, as other records of the same log show it");
  }
  frame.late_s = frame.options->columns_late_s.value_or(found.misaligned ? found.late_s : 0);
  return {};
}

void note_recorded(const Frame& frame, CorrectedRamp& out) {
  const bool stated = frame.options->columns_late_s.has_value();
  out.notes.push_back(
      {NoteLevel::info, "recorded-a-used",
       "A is the log's own; Ci was computed anew from CO2s read " + print_rounded(frame.late_s, 3) +
           " s later, " + (stated ? "as stated" : "as found in the record") +
           ". Its errors are not known: the noise of a recorded A is not that of the columns"});
  if (stated || out.alignment->late_high - out.alignment->late_low < 3) return;
  out.notes.push_back(
      {NoteLevel::caution, "lateness-uncertain",
       "one ramp leaves open by " +
           print_rounded(out.alignment->late_high - out.alignment->late_low, 2) +
           " s how late CO2s is, as the leaf's own changes are as slow; take the median over the "
           "ramps of one instrument, and state it (columns-late)"});
}

}  // namespace

Result<void> look_at_recorded(Frame& frame, const PathNumbers& path, CorrectedRamp& out) {
  const RampRecord& leaf = *frame.input->leaf;
  const bool needed = frame.options->method == CorrectionMethod::recorded;
  const bool there = std::any_of(leaf.A_recorded.begin(), leaf.A_recorded.end(),
                                 [](double A) { return std::isfinite(A); });
  if (!needed && (!frame.options->look_at_alignment || !there)) return {};
  AlignInput input{&leaf, {}, frame.input->air, frame.input->gbw, path.tau_s};
  const bool E = std::any_of(leaf.E_recorded.begin(), leaf.E_recorded.end(),
                             [](double v) { return std::isfinite(v); });
  if (E) input.E_recorded = leaf.E_recorded;
  AlignOptions options;
  options.late_s = frame.options->columns_late_s;
  auto found = find_alignment(input, options);
  if (!found) {
    if (needed) return fail(found.error());
    out.notes.push_back({NoteLevel::info, "alignment-not-looked-at",
                         "whether the recorded A and the columns belong to the same moment cannot "
                         "be told: " +
                             found.error().found});
    return {};
  }
  out.alignment = std::move(*found);
  const Notes& notes = out.alignment->notes;
  out.notes.insert(out.notes.end(), notes.begin(), notes.end());
  if (auto ok = refuse_twice(frame, path, *out.alignment); !ok) return ok;
  if (auto ok = allow_recorded(frame, *out.alignment); !ok) return ok;
  if (needed) note_recorded(frame, out);
  return {};
}

void leave_out_unrecorded(const Frame& frame, std::vector<std::string>& why) {
  if (frame.options->method != CorrectionMethod::recorded) return;
  const RampRecord& leaf = *frame.input->leaf;
  for (std::size_t i = 0; i < why.size(); ++i) {
    if (!why[i].empty()) continue;
    const double then = frame.time[i] + frame.late_s;
    if (!std::isfinite(leaf.A_recorded[i])) why[i] = "the recorded A is missing";
    if (then > frame.time.back() || then < frame.time.front()) {
      why[i] = "the CO2s that belongs to this A is not in the record";
    }
  }
}

Result<PairedFlux> correct_recorded(const Frame& frame, const PathNumbers& path) {
  (void)path;
  PairedFlux out{frame.input->leaf->A_recorded, {}};
  out.C =
      PathFilter(frame.time, frame.S, Interpolation::linear).apply(-frame.late_s, 0, frame.time);
  return out;
}

}  // namespace leafwright::correction_detail
