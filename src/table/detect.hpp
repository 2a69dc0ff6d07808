// What the delimiter and the decimal mark of a text are, judged by what makes most cells numbers.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "table/layout.hpp"
#include "table/splitter.hpp"

namespace leafwright {

struct Marks {
  char delimiter = ',';
  char decimal = '.';
  std::size_t fields = 1;  ///< the usual number of fields of a data line
};

/// Each pair of marks is tried on a sample of lines (the first 400 and some from the middle). The
/// score of a pair is s n^2/N, with N cells in the lines of the usual width (empty ones
/// aside), n numbers or NA among them and s the share of such lines, plus a little if it is steady;
/// ties go to tab, semicolon, comma, blanks, and to the decimal point. Error: unreadable, where
/// every number with a comma could as well hold a thousands separator ("12,345").
Result<Marks> detect_marks(std::string_view text, const LayoutChoice& choice);

/// True for a line that begins with '#' (blanks before it do not count).
bool is_comment(std::string_view text, std::size_t line_begin);

/// What the cells of a record are.
struct Cells {
  std::size_t numbers = 0;
  std::size_t missing = 0;
  std::size_t words = 0;
};
Cells count_cells(const Splitter& splitter, const Record& record, char decimal);
/// At least one number: cheaper than counting.
bool has_number(const Splitter& splitter, const Record& record, char decimal);

/// A record of units: no numbers, and most of its words are units people write.
bool is_units_row(const Splitter& splitter, const Record& record, char decimal);

/// "(kPa)" and "[kPa]" -> "kPa".
std::string_view without_brackets(std::string_view text);

}  // namespace leafwright
