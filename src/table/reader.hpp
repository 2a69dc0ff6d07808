// Text -> Table: blocks, rows and what is wrong with them. Used by read_table only.
#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "table/decode.hpp"
#include "table/detect.hpp"
#include "table/splitter.hpp"
#include "table/table.hpp"

namespace leafwright {

class TableReader {
 public:
  TableReader(std::string file, const LayoutChoice& choice) : choice_(choice) {
    table_.file_ = std::move(file);
    table_.cells_ = choice.cells;
  }
  Result<Table> read(std::string bytes);

 private:
  /// Faults of one kind: the first ten are kept, the rest is counted.
  struct Faults {
    const char* about = "";
    std::string what;
    std::size_t seen = 0;
  };

  Result<void> take_text(std::string bytes);
  Result<std::size_t> header_offset();
  void keep_preamble(std::size_t header_at);
  Result<std::size_t> begin_block(std::size_t at);
  void map_titles(const Record& record);
  std::size_t new_column(const std::string& title);
  void join_single_blanks(Record& record) const;
  std::size_t take_units(std::size_t at, const Record& header);
  void take_rows(std::size_t at);
  bool begins_block(const Record& record) const;
  void words_only(const Record& record);
  void add_row(const Record& record);
  void look_at_width(const Record& record);
  void keep_line(LineKind kind, std::size_t begin, std::size_t end);
  void return_short_rows();
  void finish();
  void drop_untitled_empty_columns();

  void fault(Faults& faults, std::string found, std::string expected, std::string hint,
             std::size_t offset);
  [[nodiscard]] Place line_place(std::size_t offset) const;

  LayoutChoice choice_;
  Table table_;
  std::shared_ptr<const std::string> buffer_;
  std::string_view text_;
  bool cut_ = false;
  std::unique_ptr<Splitter> splitter_;
  Marks marks_;
  bool words_table_ = false;          // no number anywhere: every record of the body is a row
  std::vector<std::size_t> columns_;  // column of each field of the block at hand
  std::vector<std::string> titles_;   // its titles
  std::size_t short_rows_ = 0;        // rows at the end that may be a preamble of the next block
  Faults extra_{"rows-too-long", "rows with more cells than titles", 0};
  Faults short_{"rows-too-short", "rows with fewer cells than titles", 0};
  Faults twice_{"titles-twice", "titles that are there twice", 0};
  Faults quotes_{"open-quotes", "lines with a quote that is not closed", 0};
};

}  // namespace leafwright
