// Broken inputs and what the reader of a log is told. These messages are documentation.
#include <gtest/gtest.h>

#include "table/table.hpp"

namespace leafwright {
namespace {

using namespace std::string_literals;

// The error that stops the reading, or every problem and note, one a line.
std::string told(const std::string& bytes, const LayoutChoice& choice = {}) {
  const auto table = read_table(bytes, "log.csv", choice);
  if (!table) return table.error().text() + "\n";
  std::string out;
  for (const Error& error : table->problems()) out += error.text() + "\n";
  for (const Note& note : table->notes()) out += note.text + "\n";
  return out;
}

// What is wrong with the first cell of the column "A".
std::string bad_cell(const std::string& cell, const std::string& other_rows = "2,60\n") {
  const auto table = read_table("A,Ci\n" + cell + ",50\n" + other_rows, "log.csv");
  if (!table) return table.error().text();
  const auto number = table->number(0, 0);
  return number ? "a number" : number.error().text();
}

TEST(Broken, FilesThatAreNoTables) {
  EXPECT_EQ(told(""), "log.csv: the file is empty; a table with a header row\n");
  EXPECT_EQ(told("\n \r\n"),
            "log.csv: the file holds nothing but blanks; a table with a header row\n");
  EXPECT_EQ(told("\xEF\xBB\xBF"),
            "log.csv: the file holds nothing but blanks; a table with a header row\n");
  EXPECT_EQ(told("PK\x03\x04 abc\n\0\0x\n"s),
            "log.csv:2: the file holds zero bytes: it is not a text; delimited text (or a "
            "spreadsheet saved as .xlsx)\n");
}

TEST(Broken, NoHeader) {
  EXPECT_EQ(told("# note\n1,2\n3,4\n"),
            "log.csv:2: numbers begin here, with no line of column titles above; a header row with "
            "names such as A, Ci, Tleaf, Patm; add one above the numbers\n"
            "  1,2\n");
}

TEST(Broken, RowNamesWithoutATitle) {
  EXPECT_EQ(told("A,Ci\nr1,1,50\nr2,2,60\n"),
            "log.csv:2: the header has 2 titles, this row has 3 cells; one title for each column; "
            "add the missing title\n  r1,1,50\n");
}

TEST(Broken, NoRows) {
  EXPECT_EQ(told("A,Ci\n"), "log.csv:1: no rows below the header; at least one row of numbers\n");
}

TEST(Broken, ALastLineCutInHalf) {
  EXPECT_EQ(told("A,Ci,Tleaf\n1,50,25\n2,60,26\n3,7"),
            "log.csv:4: the last line is cut: 2 cells where the header has 3 titles; a whole line; "
            "it is kept, but its numbers are not used\n  3,7\n");
  EXPECT_EQ(told("A,Ci,Tleaf\n1,50,25\n2,60,2"),
            "the last line has no line end; if the writing was broken off, its last number may be "
            "cut\n");
  EXPECT_EQ(told("A,Ci\n1,50\n2,60\n\0\0\0"s),
            "log.csv: the file ends with 3 zero bytes; text up to the end; they were left out; the "
            "writing was probably broken off\n");
}

TEST(Broken, RaggedRows) {
  EXPECT_EQ(told("A,Ci,Tleaf\n1,50,25\n2,60\n3,70,25\n"),
            "log.csv:3: 2 cells where the header has 3 titles; one cell for each title; the cells "
            "at its end are taken as missing\n  2,60\n");
  EXPECT_EQ(told("A,Ci\n1,50\n2,60,hm\n3,70\n"),
            "log.csv:3: 3 cells where the header has 2 titles; one cell for each title; not used: "
            "put text that holds the delimiter between quotes\n  2,60,hm\n");
  EXPECT_EQ(told("A Ci Tleaf\n1 50 25\n2 60\n3 70 25\n"),
            "log.csv:3: 2 cells where the header has 3 titles; one cell for each title; not used: "
            "which cell is missing cannot be told\n  2 60\n");
  std::string many = "A,Ci,Tleaf\n1,50,25\n2,60,25\n";
  for (int i = 0; i < 12; ++i) many += "1,50\n3,70,25\n";
  const std::string text = told(many);
  EXPECT_NE(text.find("12 rows with fewer cells than titles; the first ten are listed\n"),
            std::string::npos)
      << text;
}

TEST(Broken, RowsWithShiftedCellsSaySo) {
  const auto table = read_table("A,Ci\n1,50\n2,60,hm\n3,7", "log.csv");
  ASSERT_TRUE(table);
  EXPECT_EQ(table->row_fault(0), "");
  EXPECT_EQ(table->row_fault(1), "3 cells where the header has 2 titles");
  EXPECT_EQ(table->row_fault(2), "");
  const auto cut = read_table("A,Ci,Tleaf\n1,50,25\n2,60,25\n3,7", "log.csv");
  ASSERT_TRUE(cut);
  EXPECT_EQ(cut->row_fault(2), "the file was cut inside this line");
}

TEST(Broken, QuotesThatAreNotClosed) {
  EXPECT_EQ(told("A,leaf\n1,\"x\n2,y\n3,z\n"),
            "log.csv:2:3: a quote that is not closed; a closing quote before the next delimiter; "
            "read as a plain character\n  1,\"x\n    ^\n");
  const auto table = read_table("A,leaf\n1,\"x\n2,y\n3,z\n", "log.csv");
  ASSERT_TRUE(table);
  EXPECT_EQ(table->rows(), 3U);
  EXPECT_EQ(table->text(1, 0), "\"x");
}

TEST(Broken, TitlesThatAreThereTwice) {
  EXPECT_EQ(told("A,Ci,A\n1,50,2\n"),
            "log.csv:1:6: column title 'A' is there twice; each title once; both columns are kept; "
            "rename one if it is needed\n  A,Ci,A\n       ^\n");
  const auto table = read_table("A,Ci,A\n1,50,2\n", "log.csv");
  ASSERT_TRUE(table);
  EXPECT_EQ(table->find("A").error().text(),
            "log.csv:1: column 'A' is there twice (columns 1 and 3); one; rename or remove one of "
            "them");
  EXPECT_EQ(table->find("ci").error().text(), "log.csv:1: no column 'ci'; did you mean 'Ci'?");
}

TEST(Broken, UnitsThatDisagree) {
  EXPECT_EQ(told("A (mol m-2 s-1),Ci\numol m-2 s-1,umol mol-1\n1,50\n"),
            "log.csv:2:1: the units row says 'umol m-2 s-1' for column 'A', its title says "
            "'mol m-2 s-1'; one unit; the units row was taken; correct one of them\n"
            "  umol m-2 s-1,umol mol-1\n  ^\n");
}

TEST(Broken, CommasThatMayBeAnything) {
  EXPECT_EQ(told("A;Ci\n12,345;50,125\n13,456;60,250\n"),
            "log.csv: numbers such as '12,345' may be 12.345 or 12345; at least one number that "
            "shows what the comma is; write the numbers with a decimal point, or without "
            "thousands separators\n");
  EXPECT_EQ(told("A;Ci\n12,345;50,125\n0,456;60,250\n"), "");
}

TEST(Broken, ForcedLinesThatAreNotThere) {
  LayoutChoice choice;
  choice.header_line = 7;
  EXPECT_EQ(told("A,Ci\n1,50\n", choice),
            "log.csv: header-row 7 is not in the file; a line from 1 to 3\n");
  choice.header_line = 3;
  EXPECT_EQ(told("A,Ci\n1,50\n\n", choice),
            "log.csv:3: the line given as header is blank; a line of column titles\n");
}

TEST(Broken, CellsThatAreNoNumbers) {
  EXPECT_EQ(bad_cell("abc"),
            "log.csv:2:1: 'abc' is not a number (column 'A'); a number or an empty cell; correct "
            "or empty the cell\n  abc,50\n  ^");
  EXPECT_EQ(bad_cell("\"1,234.5\""),
            "log.csv:2:2: '1,234.5' holds a thousands separator (column 'A'); a number or an empty "
            "cell; write it without\n  \"1,234.5\",50\n   ^");
  EXPECT_EQ(bad_cell("\"1,5\"", "2.5,60\n3.5,70\n"),
            "log.csv:2:2: '1,5' has a decimal comma (column 'A'); a decimal point, as elsewhere in "
            "this file; use one decimal mark throughout\n  \"1,5\",50\n   ^");
  EXPECT_EQ(bad_cell("\"1,234\"", "2.5,60\n3.5,70\n"),
            "log.csv:2:2: '1,234' has a decimal comma (column 'A'); a decimal point, as elsewhere "
            "in this file; if it is a thousands separator, write the number without\n"
            "  \"1,234\",50\n   ^");
  EXPECT_EQ(bad_cell("\"1,234,567\""),
            "log.csv:2:2: '1,234,567' holds thousands separators (column 'A'); a number or an "
            "empty cell; write it without\n  \"1,234,567\",50\n   ^");
  EXPECT_EQ(bad_cell("101.3 kPa"),
            "log.csv:2:1: '101.3 kPa' is a number followed by 'kPa' (column 'A'); a number or an "
            "empty cell; put a unit into the column's title, as in 'Patm (kPa)', or correct the "
            "cell\n  101.3 kPa,50\n  ^");
  EXPECT_EQ(bad_cell("-inf"),
            "log.csv:2:1: '-inf' is not a finite number (column 'A'); a number or an empty cell; "
            "correct or empty the cell\n  -inf,50\n  ^");
  EXPECT_EQ(bad_cell("1e999"),
            "log.csv:2:1: '1e999' is beyond the range of numbers (column 'A'); a number or an "
            "empty cell; correct or empty the cell\n  1e999,50\n  ^");
  EXPECT_EQ(bad_cell(" #DIV/0!", "2,60\n3,70\n").substr(0, 20), "a number");
  EXPECT_EQ(bad_cell("\"#DIV/0!\""),
            "log.csv:2:2: '#DIV/0!' is a spreadsheet's error, not a number (column 'A'); a number "
            "or an empty cell; correct the formula it came from, or empty the cell\n"
            "  \"#DIV/0!\",50\n   ^");
}

TEST(Broken, BytesThatAreNoCharacters) {
  EXPECT_EQ(told("A (µmol m-2 s-1),x\n1,\xE9\n2,b\n"),
            "the text is UTF-8 at first and something else later: it was read as Latin-1, and "
            "characters beyond ASCII may be wrong\n");
  LayoutChoice utf8;
  utf8.encoding = Encoding::utf8;
  EXPECT_EQ(told("A,x\n1,\xE9\n2,b\n", utf8),
            "log.csv: 1 byte is not UTF-8; UTF-8, as the byte order mark or the given "
            "encoding says; shown as U+FFFD; give another encoding if units look wrong\n");
}

}  // namespace
}  // namespace leafwright
