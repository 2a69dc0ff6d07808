// Proof by physics: E, A, gsw and Ci recomputed from the columns of a log, against those recorded.
//
// A log's columns are right when what is recomputed from them agrees with what was recorded. The
// forms that instruments use are tried (CO2 per moist or dry air; gbw of one side or of the leaf,
// with the log's stomatal ratio or a common one; with or without the chamber's overpressure; the
// published vapour pressure forms), and the one that made a quantity agree is told.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "log/log.hpp"

namespace leafwright {

/// Relative, median of the rows: within it a recomputed quantity agrees. Common practice, no
/// source: steady records whose A holds the storage of the chamber are off by 1.3 % (median) in the
/// open data of Braun et al. 2024.
inline constexpr double agreement_tolerance = 0.02;

struct ProofLine {
  std::string symbol;                       ///< "A", "E", "gsw", "Ci"
  std::optional<bool> agrees;               ///< empty: nothing to compare, or columns are lacking
  std::optional<double> median_difference;  ///< of |made - recorded|, over the median |recorded|
  std::size_t n = 0;                        ///< rows compared
  std::string from;                         ///< "flow, area, CO2r, CO2s, H2Or, H2Os"
  std::string form;                         ///< "CO2 per moist air"; "" where there is no choice
  std::string lacking;                      ///< what to compare with, or to compute from
};

/// An area under which both A and E would agree.
struct AreaFit {
  std::string curve_id;  ///< "" for the whole log
  double recorded = 0;   ///< cm2
  double fits = 0;       ///< cm2
  std::size_t n = 0;
};

struct Proof {
  std::vector<ProofLine> lines;  ///< A, E, gsw, Ci
  bool proved = false;           ///< A agrees
  std::vector<AreaFit> areas;    ///< where A and E are off by one common factor
  [[nodiscard]] const ProofLine& line(const std::string& symbol) const;
};

/// Never fails: what cannot be compared is said.
Proof prove(const Log& log);

}  // namespace leafwright
