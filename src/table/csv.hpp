// Delimited text out: comma, LF, quotes where they are needed (RFC 4180), numbers with the fewest
// digits that read back the same, missing as an empty cell.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace leafwright {

/// Builds the bytes of a file row by row:
///   CsvWriter csv;
///   csv.text("curve_id").text("A").end_row();
///   csv.text("x").number(12.5).end_row();
///   write(csv.take());
class CsvWriter {
 public:
  CsvWriter& text(std::string_view value);
  CsvWriter& number(double value);  ///< not finite: an empty cell
  CsvWriter& number(std::optional<double> value);
  CsvWriter& missing();
  CsvWriter& end_row();

  [[nodiscard]] const std::string& bytes() const { return out_; }
  [[nodiscard]] std::string take() { return std::move(out_); }

 private:
  void next_cell();
  std::string out_;
  std::size_t row_begin_ = 0;
  bool first_ = true;
};

/// `value` as one CSV cell: quoted if it holds a comma, quote or line end, has blanks at its ends,
/// or begins with #, which makes a comment line.
std::string csv_cell(std::string_view value);

}  // namespace leafwright
