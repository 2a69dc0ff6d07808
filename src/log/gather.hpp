// Values of a column at chosen rows.
#pragma once

#include <cstddef>
#include <vector>

namespace leafwright {

/// `column` at `rows`, in their order; empty where the column is not there (empty).
template <class T>
std::vector<T> gather(const std::vector<T>& column, const std::vector<std::size_t>& rows) {
  std::vector<T> out;
  if (column.empty()) return out;
  out.reserve(rows.size());
  for (const std::size_t row : rows) out.push_back(column[row]);
  return out;
}

}  // namespace leafwright
