// The table of fits -> groups of leaves -> their means.
#pragma once

#include "base/error.hpp"
#include "base/setting.hpp"
#include "stats/pool_run.hpp"
#include "table/table.hpp"

namespace leafwright {

/// Pools a CSV as `fit` writes it. The columns of group and plant are its own, else those of
/// `samples` (may be null) by curve_id. Errors: usage, for a column or a parameter that is not
/// there, or settings that do not fit together; unreadable, where the table is none of fits;
/// refused, for values that were drawn towards their group (fit/shrunken.hpp).
Result<PoolRun> pool_fits(const Table& fits, const Table* samples, const Settings& settings,
                          const std::vector<std::string>& only = {});

}  // namespace leafwright
