#include "report/text_table.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace leafwright {
namespace {

using Align = TextTable::Align;

TEST(TextTable, AlignsNumbersRightAndWordsLeft) {
  TextTable table;
  table.column("curve", Align::left);
  table.column("n", Align::right);
  table.row({"a", "13"});
  table.row({"leaf 7", "8"});
  EXPECT_EQ(table.text(2),
            "  curve    n\n"
            "  a       13\n"
            "  leaf 7   8\n");
}

TEST(TextTable, ColumnsThatAreEmptyAreLeftOut) {
  TextTable table;
  table.column("a", Align::left);
  table.column("TPU", Align::right);
  table.column("c", Align::left);
  table.row({"1", "", "x"});
  table.row({"2"});
  EXPECT_EQ(table.text(), "a  c\n1  x\n2\n");
}

TEST(TextTable, CountsCharactersNotBytes) {
  TextTable table;
  table.column("a", Align::left);
  table.column("b", Align::left);
  table.row({"\xc2\xb5", "x"});
  table.row({"uu", "x"});
  EXPECT_EQ(table.text(), "a   b\n\xc2\xb5   x\nuu  x\n");
}

TEST(TextTable, ARowLongerThanTheHeadThrows) {
  TextTable table;
  table.column("a", Align::left);
  EXPECT_THROW(table.row({"1", "2"}), std::logic_error);
}

TEST(Wrapped, BreaksAtBlanksAndHangs) {
  EXPECT_EQ(wrapped("one two three four", 2, 2, 11), "  one two\n    three\n    four\n");
  EXPECT_EQ(wrapped("averyverylongword x", 0, 0, 5), "averyverylongword\nx\n");
  EXPECT_EQ(wrapped("", 2), "");
  EXPECT_EQ(wrapped("a\nb", 0), "a b\n");
}

}  // namespace
}  // namespace leafwright
