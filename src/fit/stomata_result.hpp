// What a curve says of the stomata: the operating point with what the stomata cost there, and how
// conductance changed while the curve was measured. operating.hpp and drift.hpp make them.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace leafwright {

/// Where the leaf works at a stated CO2 outside. An empty value is explained in `missing`.
struct OperatingPoint {
  double CO2 = 0;                  ///< outside the leaf, as stated, umol mol-1
  bool ci_given = false;           ///< Ci was stated; else from the conductance of `rows`
  std::optional<double> Ci;        ///< umol mol-1
  std::optional<double> A, A_out;  ///< of the fitted curve at Ci and at CO2, umol m-2 s-1
  std::vector<std::size_t> rows;   ///< zero-based rows of the curve near that CO2
  std::vector<std::size_t> lines;  ///< their lines in the file, 0 where not known
  /// To CO2 from the air outside to Ci, mol m-2 s-1: mean of A/(CO2 outside - Ci) over the rows.
  std::optional<double> conductance, conductance_low, conductance_high;
  std::optional<double> gsw;         ///< to water vapour, mean over the rows, mmol m-2 s-1
  std::optional<double> slope;       ///< dA/dCi of the fitted curve at Ci, mol m-2 s-1
  std::optional<double> limitation;  ///< 1 - A(Ci)/A(CO2), Farquhar & Sharkey 1982
  std::optional<double> relative;    ///< r/(r + dCi/dA), r = (CO2 - Ci)/A, Jones 1985
  std::optional<double> WUEi;        ///< A/gsw, umol mol-1
  std::vector<std::string> missing;  ///< what is needed for what is empty
};

/// How gsw changed over the rows that the fit used, in order of time. Ci was computed from gsw row
/// by row, so that the change alone makes no point of the curve wrong.
struct GswDrift {
  std::size_t rows = 0;        ///< used rows with gsw above 0, at least 3
  bool timed = false;          ///< else in the order of the rows, one step a row
  double span = 0;             ///< from the first to the last: h, or rows
  double first = 0, last = 0;  ///< mmol m-2 s-1
  /// Slope of the straight line through all rows over the mean gsw, per h or per row, with its
  /// standard error for independent residuals.
  double slope = 0, slope_se = 0;
  double change = 0;  ///< slope x span: relative to the mean gsw
  bool steady = true;
  /// The last row at the CO2 outside of the first (within 5 %, after others that were not), and its
  /// gsw over the first's, less 1: the change that no difference of CO2 explains.
  std::optional<std::size_t> again_row;
  std::optional<double> again;
  /// Where the gsw of the first row, held, would move Ci most: (Ci held - Ci)/Ci of that row, with
  /// Ci held - Ci = 1.6 A (1/gsw - 1/gsw first).
  double Ci_shift = 0;
  std::size_t Ci_shift_row = 0;
  /// 1.6 A/gsw x 1 %: what an error of 1 % in gsw does to Ci, where it does most, umol mol-1.
  double Ci_per_percent = 0;
  std::size_t Ci_per_percent_row = 0;
};

}  // namespace leafwright
