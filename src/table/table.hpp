// A table read from text: columns of cells, each of which knows its place in the file. Cells keep
// their raw text; numbers are read from it on demand, so that nothing is lost by reading.
//
// Missing is: empty, NA, N/A, NaN, null (letters in any case). Numbers that stand for "missing"
// (-9999) are numbers here; `look` flags them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "table/layout.hpp"

namespace leafwright {

enum class CellKind { missing, number, text };

/// What a cell says; `number` is meaningful for CellKind::number only.
struct CellValue {
  CellKind kind = CellKind::missing;
  double number = 0;
};

enum class LineKind {
  preamble,  ///< before the first header
  comment,   ///< begins with '#'
  remark,    ///< text between data rows that is not a row of the table
};

/// A line that is not a row, kept as it stands. `before_row` is the next row of the table.
struct KeptLine {
  LineKind kind = LineKind::preamble;
  std::size_t line = 0;
  std::size_t before_row = 0;
  std::string text;
};

class Table {
 public:
  [[nodiscard]] const std::string& file() const { return file_; }
  [[nodiscard]] const Layout& layout() const { return layout_; }
  [[nodiscard]] std::size_t rows() const { return row_begin_.size(); }
  [[nodiscard]] std::size_t columns() const { return columns_.size(); }

  /// The title as written, and without a unit in brackets at its end.
  [[nodiscard]] const std::string& title(std::size_t column) const;
  [[nodiscard]] const std::string& name(std::size_t column) const;
  /// All names, in order (for messages).
  [[nodiscard]] std::vector<std::string> names() const;

  /// The unit stated for a column in a block, as written: from the units row, else from brackets
  /// in the title; "" where none is stated.
  [[nodiscard]] const std::string& unit(std::size_t column, std::size_t block) const;
  [[nodiscard]] Place unit_place(std::size_t column, std::size_t block) const;
  [[nodiscard]] std::size_t block_of(std::size_t row) const;

  /// The column with this name. Errors: unreadable, when there is none (with the nearest name) or
  /// more than one.
  [[nodiscard]] Result<std::size_t> find(std::string_view name) const;
  [[nodiscard]] bool has(std::string_view name) const;

  /// The cell's text, without blanks at its ends and without quotes. Valid while the table lives.
  [[nodiscard]] std::string_view text(std::size_t column, std::size_t row) const;
  [[nodiscard]] CellValue value(std::size_t column, std::size_t row) const;
  /// The number in a cell, empty where it is missing. Error: unreadable, with its place and why
  /// the text is not a number.
  [[nodiscard]] Result<std::optional<double>> number(std::size_t column, std::size_t row) const;

  [[nodiscard]] Place place(std::size_t column, std::size_t row) const;
  [[nodiscard]] Place row_place(std::size_t row) const;

  /// Faults of the text that did not stop the reading: ragged rows, open quotes, a cut last line.
  [[nodiscard]] const std::vector<Error>& problems() const { return problems_; }
  [[nodiscard]] const Notes& notes() const { return notes_; }
  /// What whoever made the text knows about it.
  void add_notes(Notes notes) { notes_.insert(notes_.end(), notes.begin(), notes.end()); }
  [[nodiscard]] const std::vector<KeptLine>& kept_lines() const { return kept_lines_; }
  /// Why a row's cells may stand in the wrong columns or be parts of numbers: its line has more
  /// cells than the header, fewer in a text split by blanks, or was cut in half. "" where sound.
  [[nodiscard]] std::string row_fault(std::size_t row) const;

 private:
  friend class TableReader;

  /// Where a cell's text stands in `buffer_`. The top bit of `length` marks a quoted cell that
  /// held doubled quotes, whose text is in `unescaped_`; offset 0 with length 0 is a cell that
  /// the row's line does not have.
  struct Cell {
    std::uint32_t offset = 0;
    std::uint32_t length = 0;
  };
  struct Column {
    std::string title, name;
    std::vector<Cell> cells;
    std::vector<std::string> units;           // one per block
    std::vector<std::uint32_t> unit_offsets;  // where they stand
  };
  [[nodiscard]] Place place_at(std::size_t offset) const;

  std::string file_;
  bool cells_ = false;
  std::shared_ptr<const std::string> buffer_;  // UTF-8; cells point into it
  std::vector<std::uint32_t> line_begin_;
  std::vector<std::uint32_t> row_begin_;
  std::vector<Column> columns_;
  std::vector<std::pair<std::uint32_t, std::string>> unescaped_;  // sorted by offset
  Layout layout_;
  std::vector<Error> problems_;
  Notes notes_;
  std::vector<KeptLine> kept_lines_;
  std::vector<std::pair<std::size_t, std::string>> row_faults_;  // sorted by row
};

/// Reads a table from the bytes of a file; `file` is used in messages only.
/// Errors: unreadable, for an empty or binary text, one without a header row, a decimal mark that
/// cannot be told from a thousands separator; usage, for a forced line that is not there.
Result<Table> read_table(std::string bytes, std::string file, const LayoutChoice& choice = {});

/// True for the texts that stand for a missing value.
bool is_missing(std::string_view text);

/// Why `text` is not a number, for people, where `decimal` is the file's decimal mark.
Error not_a_number(std::string_view text, char decimal);

}  // namespace leafwright
