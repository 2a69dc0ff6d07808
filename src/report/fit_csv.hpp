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

/// The columns, in order. They do not depend on the data.
const std::vector<CsvColumn>& fit_csv_columns();

/// All curves in the order of the input. One that failed has its id, file and reason, and empty
/// cells otherwise; one that was not reached is left out.
std::string fit_csv(const FitDocument& document);

}  // namespace leafwright
