// Any bytes at all: a table or an Error, never a crash, and every cell knows a place in the text.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "table/table.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string bytes(reinterpret_cast<const char*>(data), size);
  const auto table = leafwright::read_table(bytes, "fuzz");
  if (!table) {
    if (table.error().found.empty()) std::abort();
    return 0;
  }
  for (std::size_t row = 0; row < table->rows(); ++row) {
    for (std::size_t column = 0; column < table->columns(); ++column) {
      const leafwright::CellValue value = table->value(column, row);
      const auto number = table->number(column, row);
      // The two ways of reading a cell agree.
      const bool is_number = number && number->has_value();
      if (is_number != (value.kind == leafwright::CellKind::number)) std::abort();
      if (table->row_place(row).line == 0) std::abort();
      (void)table->text(column, row);
      (void)table->unit(column, table->block_of(row));
    }
  }
  for (const leafwright::Error& problem : table->problems()) {
    if (problem.text().empty()) std::abort();
  }
  return 0;
}
