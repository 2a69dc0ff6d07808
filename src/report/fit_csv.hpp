// The table of results: one row a curve (RFC 4180, UTF-8, LF), no units row; units stand in
// FILE.meta.json. Missing is an empty cell.
#pragma once

#include <span>
#include <string>

#include "report/fit_document.hpp"

namespace leafwright {

/// One column of the table. `unit` is "" for text and counts.
struct CsvColumn {
  std::string name;
  std::string unit;
  std::string meaning;
};

/// The columns that every table has, in order.
const std::vector<CsvColumn>& fit_csv_columns();
/// Those and, behind them, what the fits of this document have beyond Vcmax, J, TPU and Rday: gm
/// and its names, or the parameters of C4 curves.
std::vector<CsvColumn> fit_csv_columns(const FitDocument& document);

/// All curves in the order of the input. One that failed has its id, file and reason, and empty
/// cells otherwise; one that was not reached is left out.
std::string fit_csv(const FitDocument& document);

}  // namespace leafwright
