// The cells of one sheet, streamed into tab-delimited text. Used by xlsx.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "files/xlsx_book.hpp"
#include "files/xlsx_xml.hpp"

namespace leafwright {

/// Writes a line for each row; short rows get as many cells as wider ones above them have, so that
/// a row whose last cells are empty is not taken for a broken one.
class SheetHandler : public XmlHandler {
 public:
  SheetHandler(const Book& book, char decimal) : book_(book), decimal_(decimal) {}

  void begin(std::string_view name, const XmlAttributes& attributes) override;
  void end(std::string_view name) override;
  void text(std::string_view bytes) override;
  [[nodiscard]] bool wants_more() const override { return fault_.empty(); }

  [[nodiscard]] std::string take_text() { return std::move(out_); }
  /// What is wrong, "" if nothing; `fault_cell` is its cell ("C7") or "".
  [[nodiscard]] const std::string& fault() const { return fault_; }
  [[nodiscard]] const std::string& fault_cell() const { return fault_cell_; }
  [[nodiscard]] std::size_t formulas() const { return formulas_; }
  /// Cells with a formula and no stored value; the first ten by name.
  [[nodiscard]] const std::vector<std::string>& uncomputed() const { return uncomputed_; }
  [[nodiscard]] std::size_t uncomputed_count() const { return uncomputed_count_; }
  [[nodiscard]] const std::vector<std::string>& merged() const { return merged_; }
  [[nodiscard]] std::size_t hidden_rows() const { return hidden_rows_; }
  [[nodiscard]] std::size_t hidden_columns() const { return hidden_columns_; }

 private:
  void begin_row(const XmlAttributes& attributes);
  void begin_cell(const XmlAttributes& attributes);
  void end_cell();
  void end_row();
  void add_cell(std::string_view text);
  [[nodiscard]] std::string cell_text();
  [[nodiscard]] std::string number_text() const;
  void fail_here(std::string what);

  const Book& book_;
  char decimal_;
  std::string out_;
  std::size_t row_ = 0;          // of the sheet, one-based
  std::size_t column_ = 0;       // of the cell at hand, one-based
  std::size_t last_column_ = 0;  // of the last cell of the row
  std::size_t written_ = 0;      // cells of the row that have been written, empty ones included
  std::size_t filled_ = 0;       // cells of the row with something in them
  std::size_t widest_ = 0;
  std::string type_, value_;
  std::size_t style_ = 0;
  bool in_value_ = false, in_text_ = false, phonetic_ = false, in_cell_ = false;
  bool formula_ = false, has_value_ = false;
  std::string fault_, fault_cell_;
  std::size_t formulas_ = 0, uncomputed_count_ = 0, hidden_rows_ = 0, hidden_columns_ = 0;
  std::vector<std::string> uncomputed_, merged_;
};

/// "C7" from 3, 7.
std::string cell_name(std::size_t column, std::size_t row);

}  // namespace leafwright
