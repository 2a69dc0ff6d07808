// Which rows take part: --only COLUMN=VALUE, given any number of times.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "table/table.hpp"

namespace leafwright {

/// The setting `only` of every call that chooses rows.
Setting only_setting();

/// The rows, in file order, for which every named column has one of the values given for it: the
/// same column twice means "either", different columns mean "and". A value matches where the texts
/// are equal, or both are numbers and equal ("1" matches "1.0"); an empty value matches missing
/// cells. Errors: usage, for a filter without '=', an unknown column, or values that no row has.
Result<std::vector<std::size_t>> select_rows(const Table& table,
                                             const std::vector<std::string>& only);

}  // namespace leafwright
