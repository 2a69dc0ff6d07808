// How a delimited text is laid out: what was detected, and what the reader of a log may force.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

namespace leafwright {

enum class Encoding { utf8, utf16_le, utf16_be, latin1 };
const char* encoding_name(Encoding encoding);  ///< "UTF-8", "UTF-16 LE", "UTF-16 BE", "Latin-1"

enum class LineEnd { lf, crlf, cr };
const char* line_end_name(LineEnd end);  ///< "LF", "CRLF", "CR"

/// ',', ';', '\t' or ' ' (a run of blanks) for people: "comma", "semicolon", "tab", "blanks".
const char* delimiter_name(char delimiter);

/// Part of a table under one header: rows [first_row, first_row + rows). Lines are one-based;
/// `units_line` is 0 where there is no units row.
struct Block {
  std::size_t header_line = 0;
  std::size_t units_line = 0;
  std::size_t first_row = 0;
  std::size_t rows = 0;
};

/// What was found, or given.
struct Layout {
  Encoding encoding = Encoding::utf8;
  bool byte_order_mark = false;
  LineEnd line_end = LineEnd::lf;
  char delimiter = ',';
  char decimal = '.';
  std::vector<Block> blocks;  ///< one per header, in file order; never empty in a table
};

/// What may be forced; everything left empty is detected.
struct LayoutChoice {
  std::optional<Encoding> encoding;
  std::optional<char> delimiter;           ///< ',', ';', '\t' or ' '
  std::optional<char> decimal;             ///< '.' or ','
  std::optional<std::size_t> header_line;  ///< one-based line of the first header
  std::optional<std::size_t> units_line;   ///< one-based; 0 says that there is no units row
  std::optional<std::string> sheet;        ///< of a spreadsheet, by its name
  bool cells = false;  ///< the text was made from a sheet: places are cells, tabs part them
};

}  // namespace leafwright
