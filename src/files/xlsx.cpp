#include "files/xlsx.hpp"

#include <algorithm>

#include "base/text.hpp"
#include "files/xlsx_book.hpp"
#include "files/xlsx_sheet.hpp"
#include "files/xlsx_xml.hpp"

namespace leafwright {
namespace {

constexpr std::string_view zip_mark("PK\x03\x04", 4), empty_zip_mark("PK\x05\x06", 4);
constexpr std::string_view compound_mark("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8);

/// Excel's own containers from before .xlsx, also what it puts an encrypted .xlsx into.
tl::unexpected<Error> compound_file(std::string_view bytes) {
  std::string wide;
  for (const char c : std::string_view("EncryptedPackage")) {
    wide += c;
    wide += '\0';
  }
  if (bytes.find(wide) != std::string_view::npos) {
    return fail(ErrorCode::unreadable, "the spreadsheet is encrypted", "one without a password",
                "save a copy without a password, or export the sheet as CSV");
  }
  return fail(ErrorCode::unreadable, "this is a spreadsheet in the old .xls format",
              "a .xlsx file or text", "save it as .xlsx or CSV");
}

std::string sheet_list(const Book& book) {
  std::vector<std::string> names;
  for (const BookSheet& sheet : book.sheets) {
    names.push_back("'" + sheet.name + "'" + (sheet.hidden ? " (hidden)" : ""));
  }
  return join(names, ", ", 12);
}

Result<const BookSheet*> choose_sheet(const Book& book, const std::optional<std::string>& wanted) {
  if (wanted) {
    std::vector<std::string> names;
    for (const BookSheet& sheet : book.sheets) {
      if (sheet.name == *wanted) return &sheet;
      names.push_back(sheet.name);
    }
    const auto near = nearest_name(*wanted, names);
    return fail(ErrorCode::usage, "no sheet is called '" + shortened(*wanted) + "'",
                "one of " + sheet_list(book), near ? "did you mean '" + *near + "'?" : "");
  }
  for (const BookSheet& sheet : book.sheets) {
    if (!sheet.hidden) return &sheet;
  }
  return fail(ErrorCode::unreadable,
              book.sheets.empty() ? "the workbook has no sheet of cells"
                                  : "all sheets are hidden: " + sheet_list(book),
              "a sheet with a table", book.sheets.empty() ? "" : "name the one to read (--sheet)");
}

Notes sheet_notes(const Book& book, const BookSheet& chosen, bool by_name,
                  const SheetHandler& cells) {
  Notes notes;
  if (book.sheets.size() > 1 && !by_name) {
    notes.push_back({NoteLevel::caution, "sheets",
                     "the workbook has " + counted(book.sheets.size(), "sheet") + " (" +
                         sheet_list(book) + "); '" + chosen.name +
                         "' was read, the first that is not hidden"});
  }
  if (chosen.hidden) {
    notes.push_back(
        {NoteLevel::caution, "hidden-sheet", "the sheet '" + chosen.name + "' is hidden"});
  }
  if (const std::size_t n = cells.merged().size(); n > 0) {
    notes.push_back({NoteLevel::caution, "merged-cells",
                     counted(n, "range") + " of merged cells (" + join(cells.merged(), ", ", 3) +
                         "): the value counts for the first cell of each, the others are empty"});
  }
  if (cells.formulas() > 0) {
    notes.push_back({NoteLevel::info, "formulas",
                     counted(cells.formulas(), "cell") +
                         (cells.formulas() == 1 ? " is a formula" : " are formulas") +
                         "; the values stored with them were read"});
  }
  if (cells.hidden_rows() + cells.hidden_columns() > 0) {
    notes.push_back({NoteLevel::caution, "hidden-cells",
                     counted(cells.hidden_rows(), "hidden row") + " and " +
                         counted(cells.hidden_columns(), "hidden column") +
                         " were read like the others"});
  }
  return notes;
}

Result<SheetText> read_from(ZipArchive& archive, const std::string& file,
                            const std::optional<std::string>& wanted, char decimal) {
  const auto book = read_book(archive);
  if (!book) return fail(book.error());
  const auto chosen = choose_sheet(*book, wanted);
  if (!chosen) return fail(chosen.error());
  const BookSheet& sheet = **chosen;
  const std::string where = file + " [" + sheet.name + "]";
  SheetHandler cells(*book, decimal);
  auto ok = read_xml(archive, sheet.part, cells);
  const auto at = [&](const std::string& cell) {
    return Place{cell.empty() ? where : where + " " + cell, 0, 0, ""};
  };
  if (!cells.fault().empty()) {
    return fail(ErrorCode::unreadable, cells.fault(), "a whole sheet",
                "open it in a spreadsheet program and save it again", at(cells.fault_cell()));
  }
  if (!ok) return fail(ok.error());
  if (cells.uncomputed_count() > 0) {
    const std::size_t others = cells.uncomputed_count() - 1;
    return fail(ErrorCode::unreadable,
                "a formula without a stored value" +
                    (others > 0 ? ", and " + std::to_string(others) + " more" : std::string()),
                "numbers, or formulas with the values they gave",
                "open it in a spreadsheet program, let it compute, and save it",
                at(cells.uncomputed().front()));
  }
  SheetText out{cells.take_text(), sheet.name,
                sheet_notes(*book, sheet, wanted.has_value(), cells)};
  if (trim(out.text).empty()) {
    return fail(ErrorCode::unreadable, "the sheet is empty", "a table",
                book->sheets.size() > 1
                    ? "the sheets are " + sheet_list(*book) + "; name the one to read (--sheet)"
                    : "",
                at(""));
  }
  return out;
}

}  // namespace

bool is_spreadsheet(std::string_view bytes, std::string_view name) {
  if (bytes.starts_with(zip_mark) || bytes.starts_with(empty_zip_mark) ||
      bytes.starts_with(compound_mark)) {
    return true;
  }
  const std::string lower = lower_case(name);
  return lower.ends_with(".xlsx") || lower.ends_with(".xlsm");
}

Result<SheetText> read_sheet(std::string_view bytes, const std::string& file,
                             const std::optional<std::string>& sheet, char decimal,
                             const ZipLimits& limits) {
  const auto with_file = [&](Error error) {
    if (error.place.file.empty()) error.place.file = file;
    return fail(std::move(error));
  };
  if (bytes.starts_with(compound_mark)) return with_file(compound_file(bytes).value());
  auto archive = ZipArchive::open(bytes, limits);
  if (!archive) return with_file(archive.error());
  auto read = read_from(*archive, file, sheet, decimal);
  if (!read) return with_file(read.error());
  return read;
}

Result<Table> open_table(std::string bytes, const std::string& file, const LayoutChoice& choice) {
  if (!is_spreadsheet(bytes, file)) {
    if (choice.sheet) {
      return fail(ErrorCode::usage, "the sheet '" + shortened(*choice.sheet) + "' of a text file",
                  "a .xlsx file", "leave the sheet out", {file, 0, 0, ""});
    }
    return read_table(std::move(bytes), file, choice);
  }
  LayoutChoice layout = choice;
  layout.encoding = Encoding::utf8;
  layout.delimiter = '\t';
  layout.decimal = choice.decimal.value_or('.');
  layout.cells = true;
  auto sheet = read_sheet(bytes, file, choice.sheet, *layout.decimal);
  if (!sheet) return fail(sheet.error());
  std::string().swap(bytes);
  auto table = read_table(std::move(sheet->text), file + " [" + sheet->sheet + "]", layout);
  if (table) table->add_notes(std::move(sheet->notes));
  return table;
}

}  // namespace leafwright
