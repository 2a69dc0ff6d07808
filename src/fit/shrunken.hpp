// Values that were drawn towards their group are refused as input of a further analysis.
//
// A shrunken value already holds the mean of its group. Analysed once more, the group counts twice:
// the scatter between leaves comes out too small and differences of groups too sure (the known
// price of analysing empirical Bayes estimates as data; no single source).
#pragma once

#include <cstddef>
#include <span>
#include <string>

#include "base/error.hpp"
#include "table/table.hpp"

namespace leafwright {

/// The refusal itself; `found` is completed by why and by what to do.
Error shrunken_error(std::string found, Place place);

/// Looks at the column `shrunken` (letters in any case) of these rows. 0, false, no and a missing
/// cell say "not shrunken"; everything else is taken as shrunken. Error: refused, at the first such
/// cell. A table without the column passes.
Result<void> refuse_shrunken(const Table& table, std::span<const std::size_t> rows);
/// The same of all rows.
Result<void> refuse_shrunken(const Table& table);

}  // namespace leafwright
