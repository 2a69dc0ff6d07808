// What the cells of a workbook refer to: its sheets, texts and number formats. Used by xlsx.cpp.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "files/xlsx_zip.hpp"

namespace leafwright {

struct BookSheet {
  std::string name;
  bool hidden = false;
  std::string part;  ///< its name in the archive
};

/// What a number format shows of a serial number.
struct DateFormat {
  bool date = false;
  bool time = false;
  bool elapsed = false;  ///< hours that do not stop at 24
  [[nodiscard]] bool any() const { return date || time; }
};

/// All texts of a workbook in one buffer.
class SharedTexts {
 public:
  void add(std::string_view text);
  [[nodiscard]] std::size_t size() const { return ends_.size(); }
  [[nodiscard]] std::string_view at(std::size_t i) const;

 private:
  std::string pool_;
  std::vector<std::size_t> ends_;
};

struct Book {
  std::vector<BookSheet> sheets;  ///< worksheets only, in the order of their tabs
  bool from_1904 = false;         ///< dates count from 1904-01-01 instead of 1899-12-30
  SharedTexts texts;
  std::vector<DateFormat> formats;  ///< by the style number of a cell
};

/// Reads all but the cells. Errors: unreadable, without a place.
Result<Book> read_book(ZipArchive& archive);

/// The format of a code such as "yyyy-mm-dd hh:mm" or of a number that the standard has given.
DateFormat date_format(std::string_view code);
DateFormat built_in_format(int number);

/// A serial number as ISO text: "2025-06-17", "2025-06-17 09:14:20.5", "09:14:20", "26:00:00"; to
/// the millisecond. "" for one that is no date (negative, or after the year 9999).
std::string date_text(double serial, DateFormat format, bool from_1904);

/// A cell's text on one line: tabs and line ends become blanks, "_x000A_" escapes are undone.
std::string plain_cell(std::string_view text);

}  // namespace leafwright
