#include "fit/shrunken.hpp"

#include <numeric>
#include <vector>

#include "base/text.hpp"

namespace leafwright {
namespace {

bool says_no(std::string_view text, const CellValue& value) {
  return value.kind == CellKind::missing || (value.kind == CellKind::number && value.number == 0) ||
         same_letters(text, "false") || same_letters(text, "no");
}

}  // namespace

Error shrunken_error(std::string found, Place place) {
  return {ErrorCode::refused, std::move(place), std::move(found),
          "values that each stand for one leaf alone",
          "a shrunken value holds the mean of its group already, and analysed again the group "
          "counts twice: use the leaves' own values (what 'leafwright fit' writes; rows with "
          "shrunken = 0, where the table has both)"};
}

Result<void> refuse_shrunken(const Table& table, std::span<const std::size_t> rows) {
  for (std::size_t column = 0; column < table.columns(); ++column) {
    if (!same_letters(table.name(column), "shrunken")) continue;
    for (const std::size_t row : rows) {
      const std::string_view text = table.text(column, row);
      if (says_no(text, table.value(column, row))) continue;
      return fail(shrunken_error(
          "shrunken = " + shortened(text, 20) + ": the value was drawn towards its group",
          table.place(column, row)));
    }
  }
  return {};
}

Result<void> refuse_shrunken(const Table& table) {
  std::vector<std::size_t> rows(table.rows());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  return refuse_shrunken(table, rows);
}

}  // namespace leafwright
