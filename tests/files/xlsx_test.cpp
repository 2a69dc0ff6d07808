// Spreadsheets: what is read, and what every broken one is told.
#include "files/xlsx.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>

#include "files/xlsx_book.hpp"
#include "files/xlsx_builder.hpp"
#include "files/xlsx_sheet.hpp"

namespace leafwright {
namespace {

using xlsx_test::Book;
using xlsx_test::row;

std::string sample(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/files/xlsx/" + name, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

Table table_of(const std::string& bytes, const LayoutChoice& choice = {}) {
  auto table = open_table(bytes, "log.xlsx", choice);
  EXPECT_TRUE(table.has_value()) << (table ? "" : table.error().text());
  return table ? std::move(*table) : Table();
}

/// The text of the error that reading gives.
std::string told(const std::string& bytes, const LayoutChoice& choice = {},
                 const std::string& name = "log.xlsx") {
  const auto table = open_table(bytes, name, choice);
  return table ? "no error" : table.error().text();
}

void expect_told(const std::string& bytes, const std::vector<std::string>& words,
                 const LayoutChoice& choice = {}) {
  const std::string text = told(bytes, choice);
  for (const std::string& word : words) {
    EXPECT_NE(text.find(word), std::string::npos) << "no '" << word << "' in: " << text;
  }
}

bool has_note(const Table& table, const std::string& about) {
  for (const Note& note : table.notes()) {
    if (note.about == about) return true;
  }
  return false;
}

TEST(Xlsx, ReadsWhatAnotherProgramWrote) {
  const Table t = table_of(sample("points.xlsx"));
  EXPECT_EQ(t.file(), "log.xlsx [Points]");
  ASSERT_EQ(t.columns(), 6U);
  ASSERT_EQ(t.rows(), 3U);
  EXPECT_EQ(t.names(), (std::vector<std::string>{"when", "clock", "A", "Ci", "remark", "use"}));
  EXPECT_EQ(t.unit(2, 0), "umol m-2 s-1");
  EXPECT_EQ(t.text(0, 0), "2025-06-17 09:14:20");
  EXPECT_EQ(t.text(1, 0), "09:14:20");
  EXPECT_EQ(t.text(0, 1), "2025-06-17 09:17:09.5");
  EXPECT_EQ(t.text(0, 2), "2025-06-18");
  EXPECT_EQ(*t.number(2, 0).value(), 12.0619);
  EXPECT_EQ(*t.number(2, 1).value(), 1.0 / 3);
  EXPECT_EQ(*t.number(2, 2).value(), -2.5e-7);
  EXPECT_EQ(t.text(4, 1), "a \"quoted\" word, and a comma");
  EXPECT_EQ(t.text(4, 2), "two lines and a tab");
  EXPECT_EQ(t.text(5, 0), "true");
  EXPECT_EQ(t.text(5, 2), "false");
  EXPECT_TRUE(has_note(t, "sheets"));
  EXPECT_TRUE(has_note(t, "merged-cells"));
  ASSERT_EQ(t.kept_lines().size(), 2U);
  EXPECT_EQ(t.kept_lines()[1].line, 7U);
}

TEST(Xlsx, CellsKnowTheirPlace) {
  Book book;
  book.cells = row({"A", "Ci"}) + row({"1", "100"}) + "<row r=\"7\"><c r=\"A7\"><v>2</v></c>" +
               "<c r=\"B7\" t=\"inlineStr\"><is><t>many</t></is></c></row>";
  const Table t = table_of(book.bytes());
  ASSERT_EQ(t.rows(), 2U);
  EXPECT_EQ(t.row_place(1).text(), "log.xlsx [Points]:7");
  EXPECT_EQ(t.place(1, 1).text(), "log.xlsx [Points] B7");
  const auto bad = t.number(1, 1);
  ASSERT_FALSE(bad.has_value());
  EXPECT_EQ(bad.error().text().substr(0, 23), "log.xlsx [Points] B7: '");
}

TEST(Xlsx, EmptyCellsAtTheEndAreMissingNotBroken) {
  Book book;
  book.cells = row({"A", "Ci", "remark"}) + row({"1", "100", "fine"}) + row({"2", "200"});
  const Table t = table_of(book.bytes());
  EXPECT_TRUE(t.problems().empty());
  ASSERT_EQ(t.rows(), 2U);
  EXPECT_EQ(t.value(2, 1).kind, CellKind::missing);
  EXPECT_EQ(t.row_fault(1), "");
}

TEST(Xlsx, NumbersKeepTheirDigits) {
  Book book;
  book.cells = row({"A", "Ci"}) + row({"12.061900000000001", "3.0000000000000004E2"});
  const Table t = table_of(book.bytes());
  EXPECT_EQ(t.text(0, 0), "12.061900000000001");
  EXPECT_EQ(*t.number(0, 0).value(), 12.061900000000001);
  EXPECT_EQ(*t.number(1, 0).value(), 300.00000000000004);
}

TEST(Xlsx, SheetByName) {
  LayoutChoice choice;
  choice.sheet = "Points";
  const Table t = table_of(sample("points.xlsx"), choice);
  EXPECT_FALSE(has_note(t, "sheets"));
  choice.sheet = "Old";
  EXPECT_TRUE(has_note(table_of(sample("points.xlsx"), choice), "hidden-sheet"));
}

TEST(Xlsx, FormulasWithStoredValuesAreReadAndSaid) {
  Book book;
  book.cells = row({"A", "Ci"}) + "<row><c><f>1+1</f><v>2</v></c><c><v>300</v></c></row>" +
               "<row><c t=\"str\"><f>\"\"</f><v></v></c><c><v>310</v></c></row>";
  const Table t = table_of(book.bytes());
  EXPECT_EQ(*t.number(0, 0).value(), 2);
  EXPECT_EQ(t.value(0, 1).kind, CellKind::missing);
  EXPECT_TRUE(has_note(t, "formulas"));
}

TEST(Xlsx, SharedTextsRichTextAndErrors) {
  Book book;
  book.texts =
      "<sst><si><t>A</t></si><si><r><t>C</t></r><r><t>i</t></r><rPh><t>no</t></rPh></si></sst>";
  book.cells =
      "<row><c t=\"s\"><v>0</v></c><c t=\"s\"><v>1</v></c></row><row><c t=\"e\"><v>#N/A</v></c>"
      "<c><v>300</v></c></row><row><c t=\"e\"><v>#DIV/0!</v></c><c><v>310</v></c></row>";
  const Table t = table_of(book.bytes());
  EXPECT_EQ(t.names(), (std::vector<std::string>{"A", "Ci"}));
  EXPECT_EQ(t.value(0, 0).kind, CellKind::missing);
  EXPECT_EQ(t.number(0, 1).error().place.text(), "log.xlsx [Points] A3");
}

TEST(Xlsx, DatesOfBothSystems) {
  Book book;
  book.styles =
      "<styleSheet><cellStyleXfs><xf numFmtId=\"0\"/></cellStyleXfs><cellXfs><xf numFmtId=\"0\"/>"
      "<xf numFmtId=\"14\"/></cellXfs></styleSheet>";
  book.cells = row({"date", "A"}) + "<row><c s=\"1\"><v>45825</v></c><c><v>1</v></c></row>";
  EXPECT_EQ(table_of(book.bytes()).text(0, 0), "2025-06-17");
  book.properties = "<workbookPr date1904=\"1\"/>";
  EXPECT_EQ(table_of(book.bytes()).text(0, 0), "2029-06-18");
}

TEST(Xlsx, SerialNumbersAsText) {
  const DateFormat date{true, false, false}, both{true, true, false}, time{false, true, false},
      elapsed{false, true, true};
  EXPECT_EQ(date_text(1, date, false), "1900-01-01");
  EXPECT_EQ(date_text(59, date, false), "1900-02-28");
  EXPECT_EQ(date_text(60, date, false), "");  // the day that never was
  EXPECT_EQ(date_text(61, date, false), "1900-03-01");
  EXPECT_EQ(date_text(36585, date, false), "2000-02-29");
  EXPECT_EQ(date_text(0, date, true), "1904-01-01");
  EXPECT_EQ(date_text(45825.384953703704, both, false), "2025-06-17 09:14:20");
  EXPECT_EQ(date_text(45825.384953703704, date, false), "2025-06-17 09:14:20");
  EXPECT_EQ(date_text(0.384953703704, time, false), "09:14:20");
  EXPECT_EQ(date_text(0.9999999999, time, false), "1900-01-01 00:00:00");
  EXPECT_EQ(date_text(1.0833333333333333, elapsed, false), "26:00:00");
  EXPECT_EQ(date_text(-1, date, false), "");
  EXPECT_EQ(date_text(2958466, date, false), "");
}

TEST(Xlsx, FormatCodesThatAreDatesAndThoseThatAreNot) {
  EXPECT_TRUE(date_format("yyyy-mm-dd").date);
  EXPECT_FALSE(date_format("yyyy-mm-dd").time);
  EXPECT_TRUE(date_format("[$-409]h:mm AM/PM;@").time);
  EXPECT_FALSE(date_format("h:mm AM/PM").date);
  EXPECT_TRUE(date_format("mmm").date);
  EXPECT_TRUE(date_format("[hh]:mm").elapsed);
  for (const char* plain : {"General", "0.00", "#,##0.00", "0.0E+00", "[Red]0.0", "0\" days\"",
                            "0\\d", "_(* #,##0_)", "[", "\""}) {
    EXPECT_FALSE(date_format(plain).any()) << plain;
  }
}

TEST(Xlsx, ColumnsAsLetters) {
  EXPECT_EQ(cell_name(3, 7), "C7");
  EXPECT_EQ(cell_name(26, 1), "Z1");
  EXPECT_EQ(cell_name(27, 1), "AA1");
  EXPECT_EQ(cell_name(16384, 1048576), "XFD1048576");
}

// ---- broken ones ----

TEST(XlsxBroken, NotAZip) {
  expect_told("A,Ci\n1,100\n", {"log.xlsx: it is not a zip archive", "a .xlsx file"});
}

TEST(XlsxBroken, CutShort) {
  const std::string whole = sample("points.xlsx");
  expect_told(whole.substr(0, whole.size() / 2), {"log.xlsx: ", "the file was cut", "again"});
  expect_told(whole.substr(0, 10), {"the file was cut"});
}

TEST(XlsxBroken, EveryCutIsToldAndNoneCrashes) {
  Book book;
  book.cells = row({"A", "Ci"}) + row({"1", "100"});
  const std::string whole = book.bytes();
  for (std::size_t n = 0; n + 22 < whole.size(); n += 7) {
    EXPECT_NE(told(whole.substr(0, n)), "no error") << n;
  }
}

TEST(XlsxBroken, FlippedBytesNeverCrash) {
  const std::string whole = sample("points.xlsx");
  for (std::size_t i = 0; i < whole.size(); i += 13) {
    std::string bent = whole;
    bent[i] = static_cast<char>(bent[i] ^ 0x55);
    told(bent);
  }
}

TEST(XlsxBroken, DamagedPart) {
  Book book;
  book.cells = row({"A", "Ci"}) + row({"1", "100"});
  std::string bytes = book.bytes();
  const auto at = bytes.find("<v>100");
  bytes[at + 3] = '7';  // the checksum no longer fits
  expect_told(bytes, {"part 'xl/worksheets/sheet1.xml' is damaged", "again"});
}

TEST(XlsxBroken, NoSuchSheet) {
  LayoutChoice choice;
  choice.sheet = "Point";
  expect_told(sample("points.xlsx"),
              {"log.xlsx: no sheet is called 'Point'", "one of 'Old' (hidden), 'Points', 'Empty'",
               "did you mean 'Points'?"},
              choice);
  const auto table = open_table(sample("points.xlsx"), "log.xlsx", choice);
  EXPECT_EQ(table.error().code, ErrorCode::usage);
}

TEST(XlsxBroken, SheetOfAText) {
  LayoutChoice choice;
  choice.sheet = "Points";
  EXPECT_NE(told("A,Ci\n1,100\n", choice, "log.csv").find("the sheet 'Points' of a text file"),
            std::string::npos);
}

TEST(XlsxBroken, EncryptedAndOld) {
  const std::string mark("\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1", 8);
  std::string wide;
  for (const char c : std::string("EncryptedPackage")) wide += std::string{c, '\0'};
  expect_told(mark + std::string(600, '\0') + wide, {"the spreadsheet is encrypted", "password"});
  expect_told(mark + std::string(600, '\0'), {"the old .xls format", "save it as .xlsx"});
  Book book;
  expect_told(xlsx_test::zip(book.parts(), 1), {"it is encrypted", "without a password"});
}

TEST(XlsxBroken, Bomb) {
  ZipLimits small;
  small.unsuspected = 1U << 20U;
  const auto swelled = read_sheet(sample("bomb.xlsx"), "log.xlsx", {}, '.', small);
  ASSERT_FALSE(swelled.has_value());
  EXPECT_NE(swelled.error().text().find("unfolds to more than 1 MB"), std::string::npos);
  small = {};
  small.largest_part = 1U << 20U;
  EXPECT_FALSE(read_sheet(sample("bomb.xlsx"), "log.xlsx", {}, '.', small).has_value());
  small = {};
  small.largest_total = 1U << 20U;
  EXPECT_FALSE(read_sheet(sample("bomb.xlsx"), "log.xlsx", {}, '.', small).has_value());
}

TEST(XlsxBroken, EntitiesAreNotUnfolded) {
  Book book;
  xlsx_test::Parts parts = book.parts();
  parts[4].second =
      "<!DOCTYPE sst [<!ENTITY a \"aaaa\"><!ENTITY b "
      "\"&a;&a;&a;\">]><sst><si><t>&b;</t></si></sst>";
  expect_told(xlsx_test::zip(parts), {"'xl/sharedStrings.xml' brings a document type"});
}

TEST(XlsxBroken, FormulaWithoutValue) {
  expect_told(sample("formula.xlsx"),
              {"log.xlsx [Points] A3: a formula without a stored value, and 2 more",
               "let it compute, and save it"});
}

TEST(XlsxBroken, EmptySheet) {
  LayoutChoice choice;
  choice.sheet = "Empty";
  expect_told(sample("points.xlsx"), {"log.xlsx [Empty]: the sheet is empty", "'Points'"}, choice);
}

TEST(XlsxBroken, NoHeader) {
  Book book;
  book.cells = row({"1", "100"}) + row({"2", "200"});
  expect_told(book.bytes(), {"log.xlsx [Points]", "titles"});
}

TEST(XlsxBroken, OtherArchives) {
  expect_told(xlsx_test::zip({{"readme.txt", "hello"}}), {"this zip archive holds no workbook"});
  expect_told(xlsx_test::zip({{"mimetype", "x"}, {"content.xml", "<x/>"}}),
              {"OpenDocument", "save it as .xlsx"});
}

TEST(XlsxBroken, PartsThatAreMissingOrNotWellFormed) {
  Book book;
  book.cells = row({"A", "Ci"}) + row({"1", "100"});
  xlsx_test::Parts parts = book.parts();
  parts.pop_back();
  expect_told(xlsx_test::zip(parts), {"part 'xl/worksheets/sheet1.xml' is missing"});
  book.cells += "<row>";
  expect_told(book.bytes(), {"not well-formed", "line 1"});
}

TEST(XlsxBroken, HiddenSheetsOnly) {
  Book book;
  book.sheets = R"(<sheet name="Points" sheetId="1" state="veryHidden" r:id="r1"/>)";
  book.cells = row({"A", "Ci"}) + row({"1", "100"});
  expect_told(book.bytes(), {"all sheets are hidden: 'Points' (hidden)", "--sheet"});
  book.sheets = "";
  expect_told(book.bytes(), {"the workbook has no sheet of cells"});
}

TEST(XlsxBroken, CellsThatContradictTheirRow) {
  Book book;
  book.cells = R"(<row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row>)";
  expect_told(book.bytes(), {"cell 'A1' stands in row 1 after column 2"});
  book.cells = R"(<row r="2"/><row r="2"/>)";
  expect_told(book.bytes(), {"row '2' stands after row 2"});
  book.cells = R"(<row r="1"><c r="A1" t="s"><v>5</v></c></row>)";
  expect_told(book.bytes(), {"log.xlsx [Points] A1: a text that is not among the texts"});
  book.cells = R"(<row r="99999999"/>)";
  expect_told(book.bytes(), {"row '99999999'"});
}

}  // namespace
}  // namespace leafwright
