// Every layout that DESIGN promises, read without a hint: the same data give the same numbers.
#include <gtest/gtest.h>

#include "base/number.hpp"
#include "table/csv.hpp"
#include "table/table.hpp"

namespace leafwright {
namespace {

Table read(const std::string& bytes, const LayoutChoice& choice = {}) {
  auto table = read_table(bytes, "a.csv", choice);
  if (!table) throw std::runtime_error(table.error().text());
  return std::move(*table);
}

// All numbers of a table, row by row; "-" where missing, the text where it is text.
std::string contents(const Table& table) {
  std::string out;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    for (std::size_t column = 0; column < table.columns(); ++column) {
      const CellValue cell = table.value(column, row);
      out += column > 0 ? " " : "";
      if (cell.kind == CellKind::missing) out += "-";
      if (cell.kind == CellKind::number) out += print_number(cell.number);
      if (cell.kind == CellKind::text) out += "'" + std::string(table.text(column, row)) + "'";
    }
    out += "\n";
  }
  return out;
}

std::string problems(const Table& table) {
  std::string out;
  for (const Error& error : table.problems()) out += error.text() + "\n";
  return out;
}

std::string utf16(const std::string& ascii, bool big, bool mark) {
  std::string out;
  const auto put = [&](char high, char low) {
    out += big ? high : low;
    out += big ? low : high;
  };
  if (mark) put('\xFE', '\xFF');
  for (const char c : ascii) put('\0', c);
  return out;
}

const std::string plain = "A,Ci,leaf\n1.5,50,x\n-0.25,100.125,y\n,400,z\n";
const std::string plain_contents = "1.5 50 'x'\n-0.25 100.125 'y'\n- 400 'z'\n";

TEST(Layout, DelimitersAndDecimalMarks) {
  struct Case {
    const char* bytes;
    char delimiter, decimal;
  };
  for (const Case& c :
       {Case{"A,Ci,leaf\n1.5,50,x\n-0.25,100.125,y\n,400,z\n", ',', '.'},
        Case{"A;Ci;leaf\n1.5;50;x\n-0.25;100.125;y\n;400;z\n", ';', '.'},
        Case{"A;Ci;leaf\n1,5;50;x\n-0,25;100,125;y\n;400;z\n", ';', ','},
        Case{"A\tCi\tleaf\n1.5\t50\tx\n-0.25\t100.125\ty\n\t400\tz\n", '\t', '.'},
        Case{"A\tCi\tleaf\n1,5\t50\tx\n-0,25\t100,125\ty\n\t400\tz\n", '\t', ','},
        Case{"A Ci leaf\n1.5 50 x\n-0.25 100.125 y\nNA 400 z\n", ' ', '.'},
        Case{"  A   Ci  leaf\n 1,5   50   x\n -0,25 100,125 y\n NA  400 z\n", ' ', ','},
        Case{"A, Ci, leaf\n1.5, 50, x\n-0.25, 100.125, y\n, 400, z\n", ',', '.'},
        Case{"\"A\",\"Ci\",\"leaf\"\n\"1,5\",\"50\",\"x\"\n\"-0,25\",\"100,125\","
             "\"y\"\n\"\",\"400\",\"z\"\n",
             ',', ','}}) {
    const Table table = read(c.bytes);
    EXPECT_EQ(contents(table), plain_contents) << c.bytes;
    EXPECT_EQ(table.layout().delimiter, c.delimiter) << c.bytes;
    EXPECT_EQ(table.layout().decimal, c.decimal) << c.bytes;
    EXPECT_EQ(problems(table), "") << c.bytes;
    EXPECT_EQ(table.names(), (std::vector<std::string>{"A", "Ci", "leaf"})) << c.bytes;
  }
}

TEST(Layout, LineEndsAndEncodings) {
  const auto with_ends = [](const std::string& end) {
    std::string out;
    for (const char c : plain) out += c == '\n' ? end : std::string(1, c);
    return out;
  };
  EXPECT_EQ(read(with_ends("\r\n")).layout().line_end, LineEnd::crlf);
  EXPECT_EQ(read(with_ends("\r")).layout().line_end, LineEnd::cr);
  EXPECT_EQ(contents(read(with_ends("\r\n"))), plain_contents);
  EXPECT_EQ(contents(read(with_ends("\r"))), plain_contents);
  EXPECT_EQ(contents(read(with_ends("\r\r\n"))), plain_contents);
  EXPECT_EQ(contents(read("\xEF\xBB\xBF" + plain)), plain_contents);
  EXPECT_TRUE(read("\xEF\xBB\xBF" + plain).layout().byte_order_mark);
  for (const bool big : {false, true}) {
    for (const bool mark : {false, true}) {
      const Table table = read(utf16(plain, big, mark));
      EXPECT_EQ(contents(table), plain_contents);
      EXPECT_EQ(table.layout().encoding, big ? Encoding::utf16_be : Encoding::utf16_le);
    }
  }
  const Table latin1 = read(
      "Tleaf (\xB0"
      "C),A (\xB5mol m-2 s-1)\n25,1\n");
  EXPECT_EQ(latin1.layout().encoding, Encoding::latin1);
  EXPECT_EQ(latin1.unit(0, 0), "°C");
  EXPECT_EQ(latin1.unit(1, 0), "µmol m-2 s-1");
  EXPECT_EQ(read("Tleaf (°C)\n25\n").layout().encoding, Encoding::utf8);
}

TEST(Layout, PreambleUnitsRowCommentsAndBlankLines) {
  const Table table = read(
      "Exported by a logger\n"
      "Operator,Jane\n"
      "Chamber area,6\n"
      "\n"
      "# made on a Monday\n"
      "A,Ci,leaf\n"
      "µmol m⁻² s⁻¹,umol mol-1,\n"
      "\n"
      "1.5,50,x\n"
      "# pump changed\n"
      "-0.25,100.125,y\n"
      ",,\n"
      ",400,z\n"
      "\n");
  EXPECT_EQ(contents(table), plain_contents);
  EXPECT_EQ(problems(table), "");
  ASSERT_EQ(table.layout().blocks.size(), 1U);
  EXPECT_EQ(table.layout().blocks[0].header_line, 6U);
  EXPECT_EQ(table.layout().blocks[0].units_line, 7U);
  EXPECT_EQ(table.unit(0, 0), "µmol m⁻² s⁻¹");
  EXPECT_EQ(table.unit(2, 0), "");
  std::string kept;
  for (const KeptLine& line : table.kept_lines()) {
    kept += std::to_string(line.line) + ":" + std::to_string(line.before_row) + ":" + line.text +
            (line.kind == LineKind::comment ? "#\n" : "\n");
  }
  EXPECT_EQ(kept,
            "1:0:Exported by a logger\n2:0:Operator,Jane\n3:0:Chamber area,6\n"
            "5:0:# made on a Monday#\n10:1:# pump changed#\n");
}

TEST(Layout, UnknownTitlesAreFoundAboveTheNumbers) {
  const Table table = read("notes\nx,y,z\nfoo,bar,baz\n1,2,3\n4,5,6\n");
  EXPECT_EQ(table.names(), (std::vector<std::string>{"foo", "bar", "baz"}));
  EXPECT_EQ(contents(table), "1 2 3\n4 5 6\n");
}

TEST(Layout, BlanksKeepBracketsInTitlesTogether) {
  const Table table = read("A (umol m-2 s-1)  Ci [umol mol-1] Tleaf\n1 50 25\n2 60 26\n");
  EXPECT_EQ(table.names(), (std::vector<std::string>{"A", "Ci", "Tleaf"}));
  EXPECT_EQ(table.unit(1, 0), "umol mol-1");
  EXPECT_EQ(contents(table), "1 50 25\n2 60 26\n");
}

TEST(Layout, AUnitsRowInATextSplitByBlanks) {
  const Table table = read(
      "A              Ci          Tleaf\n"
      "umol m-2 s-1   umol mol-1  degC\n"
      "1              50          25\n"
      "2              60          26\n");
  EXPECT_EQ(table.unit(0, 0), "umol m-2 s-1");
  EXPECT_EQ(table.unit(1, 0), "umol mol-1");
  EXPECT_EQ(contents(table), "1 50 25\n2 60 26\n");
  EXPECT_EQ(problems(table), "");
}

TEST(Layout, ManyColumnsAndOneLongLine) {
  std::string titles, row;
  for (int i = 0; i < 20000; ++i) {
    titles += (i > 0 ? ",c" : "c") + std::to_string(i);
    row += i > 0 ? ",1" : "1";
  }
  EXPECT_EQ(read(titles + "\n" + row + "\n").columns(), 20000U);
  std::string same = "c";
  for (int i = 1; i < 20000; ++i) same += ",c";
  EXPECT_EQ(read(same + "\n" + row + "\n").problems().size(), 10U);  // the rest is counted
}

TEST(Layout, SeveralBlocksWithTheSameOrOtherTitles) {
  const Table table = read(
      "A,Ci\n1,50\n2,60\nA,Ci\n3,70\n"
      "Start,noon\nSite,hill\n"
      "Ci,A,Tleaf\numol mol-1,umol m-2 s-1,degC\n80,4,25\n");
  ASSERT_EQ(table.layout().blocks.size(), 3U);
  EXPECT_EQ(contents(table), "1 50 -\n2 60 -\n3 70 -\n4 80 25\n");
  EXPECT_EQ(table.layout().blocks[2].header_line, 8U);
  EXPECT_EQ(table.layout().blocks[2].units_line, 9U);
  EXPECT_EQ(table.block_of(0), 0U);
  EXPECT_EQ(table.block_of(2), 1U);
  EXPECT_EQ(table.block_of(3), 2U);
  EXPECT_EQ(table.unit(2, 2), "degC");
  EXPECT_EQ(table.unit(0, 0), "");
  EXPECT_EQ(problems(table), "");
}

TEST(Layout, APreambleBetweenBlocksDoesNotBecomeRows) {
  const Table table = read("A,Ci,Tleaf\n1,50,25\nArea,6\nSite,hill\nA,Ci,Tleaf\n3,70,26\n");
  EXPECT_EQ(contents(table), "1 50 25\n3 70 26\n");
  EXPECT_EQ(problems(table), "");
}

TEST(Layout, OtherTitlesOfAnotherWidthBeginABlock) {
  const Table table = read("foo,bar\n1,2\n3,4\nu,v,w\n5,6,7\n8,9,10\n");
  ASSERT_EQ(table.layout().blocks.size(), 2U);
  EXPECT_EQ(contents(table), "1 2 - - -\n3 4 - - -\n- - 5 6 7\n- - 8 9 10\n");
}

TEST(Layout, QuotedCellsMayHoldAnything) {
  const Table table = read("A,remark\n1,\"a, b\"\n2,\"two\nlines\"\n3,\"he said \"\"no\"\"\"\n");
  ASSERT_EQ(table.rows(), 3U);
  EXPECT_EQ(table.text(1, 0), "a, b");
  EXPECT_EQ(table.text(1, 1), "two\nlines");
  EXPECT_EQ(table.text(1, 2), "he said \"no\"");
  EXPECT_EQ(table.place(0, 2).line, 5U);
  EXPECT_EQ(problems(table), "");
}

TEST(Layout, MissingIsEmptyOrNamed) {
  const Table table = read("A,B,C,D,E,F\n,NA,N/A,NaN,nan,null\n1,2,3,4,5,6\n");
  EXPECT_EQ(contents(table), "- - - - - -\n1 2 3 4 5 6\n");
}

TEST(Layout, WordsOnlyTablesHaveTheirFirstLineAsHeader) {
  const Table table = read("file,species\na.csv,oak\nb.csv,beech\n");
  EXPECT_EQ(table.names(), (std::vector<std::string>{"file", "species"}));
  EXPECT_EQ(table.rows(), 2U);
}

TEST(Layout, OneColumn) {
  const Table table = read("A\n1\n2\n");
  EXPECT_EQ(contents(table), "1\n2\n");
  EXPECT_EQ(contents(read("A\nx y\nz\n")), "'x y'\n'z'\n");
}

TEST(Layout, CanBeForced) {
  LayoutChoice choice;
  choice.header_line = 2;
  choice.units_line = 3;
  choice.delimiter = ';';
  choice.decimal = ',';
  const Table table = read("p;q\nfoo;bar\nx;y\n12,345;1\n", choice);
  EXPECT_EQ(table.names(), (std::vector<std::string>{"foo", "bar"}));
  EXPECT_EQ(table.unit(1, 0), "y");
  EXPECT_EQ(contents(table), "12.345 1\n");
  LayoutChoice no_units;
  no_units.units_line = 0;
  EXPECT_EQ(read("A,Ci\ns,s\n1,2\n", no_units).rows(), 2U);
  EXPECT_EQ(read("A,Ci\ns,s\n1,2\n").rows(), 1U);
}

TEST(Layout, TrailingDelimitersMakeNoColumn) {
  const Table table = read("A,Ci,\n1,50,\n2,60,\n");
  EXPECT_EQ(table.columns(), 2U);
  EXPECT_EQ(problems(table), "");
}

// The format's own dictionary (Ely et al. 2021) is Latin-1 with CRLF and quoted cells.
TEST(Layout, RemarksBetweenRowsAreKept) {
  const Table table = read("A,Ci,Tleaf\n1,50,25\n10:02 chamber opened\n2,60,25\n");
  EXPECT_EQ(contents(table), "1 50 25\n2 60 25\n");
  ASSERT_EQ(table.kept_lines().size(), 1U);
  EXPECT_EQ(table.kept_lines()[0].text, "10:02 chamber opened");
  EXPECT_EQ(table.kept_lines()[0].before_row, 1U);
}

TEST(Places, EveryCellKnowsWhereItStands) {
  const Table table = read("x\nA,Ci\n1, 50\n2,\"6\n0\"\n");
  EXPECT_EQ(table.place(1, 0).line, 3U);
  EXPECT_EQ(table.place(1, 0).column, 4U);
  EXPECT_EQ(table.place(1, 1).line, 4U);
  EXPECT_EQ(table.place(1, 1).column, 4U);
  EXPECT_EQ(table.place(1, 0).excerpt, "1, 50");
  EXPECT_EQ(table.row_place(1).line, 4U);
  EXPECT_EQ(table.row_place(1).column, 0U);
}

TEST(Places, ATableMayBeMovedAndCopied) {
  Table first = read(plain);
  const Table copy = first;
  const Table moved = std::move(first);
  EXPECT_EQ(contents(copy), plain_contents);
  EXPECT_EQ(contents(moved), plain_contents);
}

}  // namespace
}  // namespace leafwright
