// Do the columns of a ramp belong to the same moment? A log may hold A that was computed from one
// pair of signals, and CO2s (and Ci made of it) that were delayed and averaged on their way into
// the table. Then A and Ci do not belong together, and every correction would start from the wrong
// place. Found from the record alone, in three steps:
//
//   Ci     recomputed from the recorded A, E and the CO2s column: equal row by row means that Ci
//          was made from that column.
//   A      the balance of the CO2 columns, B = k [R - dil (S + tau/dil dS/dt)], against the
//          recorded A. If the columns are late by l and are means over w, so is B:
//            B(t) = mean over w of A(t - l) + a0 + a1 S + k d dR/dt
//          l and w by search; a0, a1 (offsets) and d (S later than R, by seconds) by linear least
//          squares. l = w = d = 0: the columns are those that A was made from.
//          Both sides go through the same two first-order filters, which make dS/dt of S without a
//          difference of rows: times that a log rounds, or stamps late, do not blow up.
//   again  with a0 = a1 = d = 0 (agreement: A is the balance with storage of these very columns),
//          and the steady balance k (R - dil S) row by row, as it stands or less a difference of
//          the cells that is a parabola in S (agreement: what a log computes without a correction).
//
// Mended: Ci from the recorded A and S read l later in the table; a mean over w of a straight ramp
// is its middle, so that only the kinks stay blurred, over w.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "air/flux.hpp"
#include "base/error.hpp"
#include "base/note.hpp"
#include "ramp/record.hpp"

namespace leafwright {

/// How the recorded A was made, as far as the columns tell.
enum class RecordedA {
  not_told,  ///< none of the below
  steady,    ///< the steady balance of these columns: nothing was corrected
  shifted,   ///< the same less a difference of the cells: it was equalised, or an empty subtracted
  balance,   ///< the balance with storage of these columns: lag and mixing are taken out of them
  late       ///< a balance of signals that the columns hold later
};
/// "not told", "steady balance", "steady balance less a difference", "balance with storage",
/// "balance of earlier signals".
const char* recorded_A_name(RecordedA made);

struct AlignOptions {
  double earliest_s = -10, latest_s = 20;  ///< of l
  double longest_mean_s = 25;              ///< of w
  double smoothing_s = 6;                  ///< time constant, twice, of both sides
  /// Late by less than this is not told apart from aligned.
  double aligned_s = 1;
  std::optional<double> late_s;  ///< l, where it is stated; it is then not searched
};

struct AlignInput {
  const RampRecord* record = nullptr;  ///< with A_recorded; Ci_recorded where there is one
  std::span<const double> E_recorded;  ///< mmol m-2 s-1, one a row of the record; empty: from H2O
  FluxOptions air;
  std::optional<double> gbw;  ///< mmol m-2 s-1, where the record has none
  double tau_s = 0;           ///< n/u of the chamber
};

struct Alignment {
  std::size_t rows = 0;  ///< compared
  /// Median and 90th hundredth of |recorded Ci - Ci from the CO2s column|; empty without Ci.
  std::optional<double> Ci_off, Ci_off_90;
  bool Ci_from_column = false;
  double late_s = 0;                    ///< l
  double late_low = 0, late_high = 0;   ///< where the misfit is within 10 % of the best
  double mean_s = 0;                    ///< w; badly told by a straight ramp
  double mean_low = 0, mean_high = 0;   ///< the same range
  double between_s = 0;                 ///< d
  double misfit = 0, misfit_as_is = 0;  ///< rms of B, umol m-2 s-1: at the best l, w; at 0, 0
  bool misaligned = false;              ///< CO2s is late against the recorded A
  bool corrected = false;               ///< the recorded A already holds a correction: see `notes`
  RecordedA made = RecordedA::not_told;
  double steady_off = 0;  ///< 90th hundredth of |A - steady balance|, umol m-2 s-1
  /// What A says of CO2s less CO2r beyond the steady balance, umol mol-1, at the record's lowest
  /// and highest CO2s; meaningful for RecordedA::shifted.
  double shift_low = 0, shift_high = 0;
  std::vector<double> Ci;  ///< mended, from the recorded A; not a number where it cannot be
  Notes notes;  ///< "recorded-a", "columns-late", "ci-from-late-column", "already-corrected"
};

/// Errors: usage, a record without recorded A, or without what Ci needs; unfit, fewer than 60 rows,
/// or a CO2r that does not move by 100 umol mol-1.
Result<Alignment> find_alignment(const AlignInput& input, const AlignOptions& options = {});

}  // namespace leafwright
