// Spreadsheets in: one sheet of an .xlsx file (ISO/IEC 29500-1, transitional) as a table whose
// cells know their place ("log.xlsx [Points] C7"). docs/formats/xlsx.md says what is read how.
//
// The sheet is streamed into tab-delimited text, one line for each row of the sheet, numbers with
// the digits that stand in the file; from there on it is read like any other text.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/note.hpp"
#include "files/xlsx_zip.hpp"
#include "table/layout.hpp"
#include "table/table.hpp"

namespace leafwright {

/// A sheet as text: line n is row n of the sheet.
struct SheetText {
  std::string text;
  std::string sheet;  ///< its name
  Notes notes;        ///< other and hidden sheets, merged cells, formulas, hidden rows
};

/// Is this a spreadsheet, or does its name promise one? Old .xls and encrypted ones count:
/// read_sheet then says what they are.
bool is_spreadsheet(std::string_view bytes, std::string_view name);

/// Reads the sheet of that name, else the first that is not hidden. `decimal` is the mark that
/// numbers are written with. Errors, all with the file and, where there is one, the cell:
/// unreadable for what is no whole .xlsx file, is encrypted, unfolds beyond `limits`, holds a
/// formula without a stored value, or is empty; usage for a sheet that is not there (with the ones
/// that are).
Result<SheetText> read_sheet(std::string_view bytes, const std::string& file,
                             const std::optional<std::string>& sheet, char decimal = '.',
                             const ZipLimits& limits = {});

/// The one door for tables: delimited text or a spreadsheet, told apart by their bytes. Errors: as
/// read_table and read_sheet; usage, for a sheet asked of a text.
Result<Table> open_table(std::string bytes, const std::string& file,
                         const LayoutChoice& choice = {});

}  // namespace leafwright
