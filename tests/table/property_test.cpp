// What must hold for any table: what is written reads back the same, in every layout.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <optional>
#include <vector>

#include "base/number.hpp"
#include "table/csv.hpp"
#include "table/table.hpp"

namespace leafwright {
namespace {

using Cells = std::vector<std::vector<std::optional<double>>>;

// 1..6 rows of 2..5 cells, the first of each row a number so that rows are not blank.
rc::Gen<Cells> cells() {
  return rc::gen::exec([] {
    const auto columns = *rc::gen::inRange<std::size_t>(2, 6);
    const auto rows = *rc::gen::inRange<std::size_t>(1, 7);
    Cells out(rows);
    for (auto& row : out) {
      for (std::size_t i = 0; i < columns; ++i) {
        const bool missing = i > 0 && *rc::gen::inRange(0, 5) == 0;
        const double value = *rc::gen::arbitrary<double>();
        row.push_back(missing || !std::isfinite(value)
                          ? (i > 0 ? std::nullopt : std::optional<double>(1.5))
                          : std::optional<double>(value));
      }
    }
    return out;
  });
}

std::string titles(std::size_t columns, const std::string& delimiter) {
  const char* names[] = {"A", "Ci", "Tleaf", "Patm", "Qin"};
  std::string out;
  for (std::size_t i = 0; i < columns; ++i) out += (i > 0 ? delimiter : "") + names[i];
  return out;
}

void expect_same(const Table& table, const Cells& expected) {
  RC_ASSERT(table.rows() == expected.size());
  RC_ASSERT(table.columns() == expected.front().size());
  for (std::size_t row = 0; row < expected.size(); ++row) {
    for (std::size_t column = 0; column < expected[row].size(); ++column) {
      const auto number = table.number(column, row);
      RC_ASSERT(number.has_value());
      RC_ASSERT(*number == expected[row][column]);
    }
  }
}

RC_GTEST_PROP(TableProperty, EveryLayoutGivesTheSameNumbers, ()) {
  const Cells values = *cells();
  for (const std::string delimiter : {",", ";", "\t", " "}) {
    for (const char decimal : {'.', ','}) {
      if (delimiter == "," && decimal == ',') continue;
      std::string bytes = titles(values.front().size(), delimiter) + "\n";
      for (const auto& row : values) {
        for (std::size_t i = 0; i < row.size(); ++i) {
          std::string cell = row[i] ? print_number(*row[i]) : "NA";
          for (char& c : cell) c = c == '.' ? decimal : c;
          bytes += (i > 0 ? delimiter : "") + cell;
        }
        bytes += "\n";
      }
      LayoutChoice choice;
      choice.decimal = decimal;  // integers alone do not show it
      const auto table = read_table(bytes, "x", choice);
      RC_ASSERT(table.has_value());
      expect_same(*table, values);
    }
  }
}

RC_GTEST_PROP(TableProperty, WrittenTextReadsBackTheSame, ()) {
  const auto words = *rc::gen::container<std::vector<std::string>>(
      rc::gen::nonEmpty(rc::gen::string<std::string>()));
  // Any bytes but: zero bytes, a byte order mark's pieces, blanks at the ends (the reader trims).
  std::vector<std::string> clean = {"x"};
  for (const std::string& word : words) {
    std::string kept;
    for (const char c : word) {
      const auto byte = static_cast<unsigned char>(c);
      if (byte >= 0x20 && byte < 0x7F) kept += c;
      if (byte < 0x08 && byte > 0) kept += ",\"\n;'# "[byte % 7];
    }
    while (!kept.empty() && (kept.back() == ' ' || kept.back() == '\n')) kept.pop_back();
    while (!kept.empty() && (kept.front() == ' ' || kept.front() == '\n')) kept.erase(0, 1);
    if (!kept.empty()) clean.push_back(kept);
  }
  CsvWriter csv;
  csv.text("A").text("Ci").text("remark").end_row();
  for (const std::string& word : clean) csv.number(1.5).number(50.25).text(word).end_row();
  LayoutChoice choice;
  choice.delimiter = ',';
  choice.decimal = '.';
  const auto table = read_table(csv.bytes(), "x", choice);
  RC_ASSERT(table.has_value());
  RC_ASSERT(table->problems().empty());
  RC_ASSERT(table->rows() == clean.size());
  for (std::size_t row = 0; row < clean.size(); ++row) {
    RC_ASSERT(std::string(table->text(2, row)) == clean[row]);
  }
}

TEST(Csv, QuotesWhatNeedsIt) {
  CsvWriter csv;
  csv.text("a").text("b, c").text("say \"x\"").text("#").text(" d").missing().end_row();
  csv.number(0.1).number(std::nan("")).number(std::optional<double>()).text("").end_row();
  csv.missing().end_row();
  EXPECT_EQ(csv.take(), "a,\"b, c\",\"say \"\"x\"\"\",\"#\",\" d\",\n0.1,,,\n\"\"\n");
}

}  // namespace
}  // namespace leafwright
