#include "log/look.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "log/look_proof.hpp"
#include "log/look_rows.hpp"
#include "log/time_text.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

namespace {

// Numbers that logs write for "missing". Common practice, no source.
bool is_sentinel(double value) {
  for (const double code :
       {-9999.0, -999.0, -99999.0, -9999.99, -999.99, -999.9, 9999.0, 99999.0}) {
    if (value == code) return true;
  }
  return false;
}

void add_place(Finding& finding, const Place& place) {
  ++finding.count;
  if (finding.first.size() < 3) finding.first.push_back(place);
}

std::string first_line(const Finding& finding) {
  return line_text(finding.first.front());
}

struct ColumnLook {
  const Table& table;
  LookReport& report;
  std::size_t column;
  LookColumn out;
  const Symbol* symbol = nullptr;
  std::vector<Conversion> conversions;  // one per block
  bool usable_unit = true;

  void name_it();
  void count_cells();
  void flag_values();
};

void ColumnLook::name_it() {
  out.title = table.title(column);
  const std::string& name = table.name(column);
  symbol = find_symbol(name);
  const std::size_t blocks = table.layout().blocks.size();
  std::size_t stating = 0;
  while (stating + 1 < blocks && table.unit(column, stating).empty()) ++stating;
  out.unit = table.unit(column, stating);
  const std::size_t line = table.unit_place(column, stating).line;
  const std::string where = line == table.layout().blocks[stating].units_line
                                ? "units row, line " + std::to_string(line)
                                : "title";
  if (symbol == nullptr) {
    const auto parsed = parse_unit(out.unit);
    const std::string near = suggest_symbol(name);
    out.evidence = name.empty() ? "no title" : "not a name of the open reporting format";
    if (!near.empty()) out.evidence += "; " + near;
    if (!out.unit.empty()) {
      out.evidence += "; unit from the " + where + ": " +
                      (parsed ? parsed->dimension.name() : std::string("not known"));
    }
    return;
  }
  out.symbol = std::string(symbol->name);
  out.evidence = std::string("title is the name of ") +
                 (symbol->source == SymbolSource::reporting_format ? "the open reporting format"
                                                                   : "Leafwright's own formats");
  if (symbol->kind != SymbolKind::number) return;
  const Unit target = known_unit(symbol->unit);
  conversions.resize(blocks);
  if (out.unit.empty()) {
    out.evidence += "; no unit stated, " + std::string(symbol->unit) + " assumed";
    return;
  }
  out.evidence += "; unit from the " + where;
  for (std::size_t block = 0; block < blocks; ++block) {
    const std::string& stated = table.unit(column, block);
    if (stated.empty()) continue;
    const auto parsed = parse_unit(stated);
    const auto convert = parsed ? conversion(*parsed, target) : fail(parsed.error());
    if (convert) {
      conversions[block] = *convert;
      continue;
    }
    usable_unit = false;
    Error error = convert.error();
    error.found = "column '" + name + "': " + error.found;
    error.place = table.unit_place(column, block);
    report.problems.push_back(std::move(error));
    out.evidence += ", which does not suit it";
  }
}

void ColumnLook::count_cells() {
  std::size_t numbers = 0, times = 0, texts = 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const CellValue cell = table.value(column, row);
    if (cell.kind == CellKind::missing) {
      ++out.missing;
    } else if (cell.kind == CellKind::number) {
      ++numbers;
      const double value = conversions.empty() || !usable_unit
                               ? cell.number
                               : conversions[table.block_of(row)](cell.number);
      out.low = out.low ? std::min(*out.low, value) : value;
      out.high = out.high ? std::max(*out.high, value) : value;
    } else {
      ++texts;
      times += is_time_text(trim(table.text(column, row))) ? 1U : 0U;
    }
  }
  out.n = numbers + texts;
  if (out.n == 0) {
    out.kind = ColumnKind::empty;
  } else if (numbers > texts) {
    out.kind = ColumnKind::number;
    out.n = numbers;
    out.words = texts;
  } else {
    out.kind = numbers == 0 && times == texts ? ColumnKind::time : ColumnKind::text;
    out.low.reset();
    out.high.reset();
  }
}

void ColumnLook::flag_values() {
  const std::string& name = table.name(column);
  Finding words{"not-a-number", name, 0, {}, ""};
  Finding sentinel{"sentinel", name, 0, {}, ""};
  Finding range{"implausible", name, 0, {}, ""};
  Finding negative{"negative-ci", name, 0, {}, ""};
  double code = 0, outside = 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const CellValue cell = table.value(column, row);
    if (cell.kind == CellKind::text) add_place(words, table.place(column, row));
    if (cell.kind != CellKind::number) continue;
    if (is_sentinel(cell.number)) {
      code = cell.number;
      add_place(sentinel, table.place(column, row));
      continue;
    }
    if (symbol == nullptr || conversions.empty() || !usable_unit) continue;
    const double value = conversions[table.block_of(row)](cell.number);
    if (symbol->name == "Ci" && value < 0) {
      add_place(negative, table.place(column, row));
    } else if (symbol->plausible &&
               (value < symbol->plausible->low || value > symbol->plausible->high)) {
      if (range.count == 0) outside = value;
      add_place(range, table.place(column, row));
    }
  }
  const auto keep = [this](Finding& finding, std::string text) {
    if (finding.count == 0) return;
    finding.text = std::move(text);
    report.findings.push_back(std::move(finding));
  };
  const auto head = [&](const Finding& finding) {
    return "column '" + name + "': " + counted(finding.count, "cell");
  };
  if (words.count > 0) {
    keep(words, head(words) + " with text in a column of numbers (first: " + first_line(words) +
                    "); such rows are left out where the column is needed");
  }
  if (sentinel.count > 0) {
    keep(sentinel, head(sentinel) + " with a number that often stands for missing, such as " +
                       print_number(code) + " (first: " + first_line(sentinel) +
                       "); nothing is changed: empty them if that is what they mean");
  }
  if (range.count > 0) {
    keep(range, head(range) + " outside " + print_number(symbol->plausible->low) + " to " +
                    print_number(symbol->plausible->high) + " " + std::string(symbol->unit) +
                    ", such as " + print_rounded(outside, 6) + " (first: " + first_line(range) +
                    "); is the unit right?");
  }
  if (negative.count > 0) {
    keep(negative, head(negative) + " below zero (first: " + first_line(negative) +
                       "); such rows cannot be fitted");
  }
  if (symbol != nullptr && symbol->varies && out.n >= 3 && out.low && *out.low == *out.high) {
    Finding constant{"constant", name, out.n, {}, ""};
    constant.text = "column '" + name + "' is " + print_number(*out.low) +
                    " in every row, though it should vary: was it measured?";
    report.findings.push_back(std::move(constant));
  }
}

}  // namespace

const char* column_kind_name(ColumnKind kind) {
  switch (kind) {
    case ColumnKind::empty:
      return "empty";
    case ColumnKind::number:
      return "number";
    case ColumnKind::time:
      return "time";
    case ColumnKind::text:
      return "text";
  }
  return "text";
}

LookReport look(const Table& table, const ColumnMap& known) {
  LookReport report;
  report.file = table.file();
  report.layout = table.layout();
  report.rows = table.rows();
  report.problems = table.problems();
  report.notes = table.notes();
  for (std::size_t column = 0; column < table.columns(); ++column) {
    ColumnLook one{table, report, column, {}, nullptr, {}, true};
    one.name_it();
    one.count_cells();
    if (one.out.kind == ColumnKind::number) one.flag_values();
    report.columns.push_back(std::move(one.out));
  }
  look_at_time(table, report);
  look_at_repeats(table, report);
  look_at_curves(table, report);
  look_at_proof(table, known, report);
  return report;
}

}  // namespace leafwright
