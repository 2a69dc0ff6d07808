#include "log/look_rows.hpp"

#include <algorithm>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

namespace {

void add_place(Finding& finding, const Place& place) {
  ++finding.count;
  if (finding.first.size() < 3) finding.first.push_back(place);
}

// The column that tells the time in numbers, and its unit for messages.
std::optional<std::size_t> time_column(const Table& table, const LookReport& report) {
  for (const char* name : {"time_s", "elapsed_s"}) {
    if (const auto column = table.find(name)) return *column;
  }
  for (std::size_t i = 0; i < report.columns.size(); ++i) {
    const LookColumn& column = report.columns[i];
    if (column.kind != ColumnKind::number || !column.symbol.empty() || column.unit.empty())
      continue;
    const auto unit = parse_unit(column.unit);
    if (unit && unit->dimension == known_unit("s").dimension) return i;
  }
  return std::nullopt;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace

void look_at_time(const Table& table, LookReport& report) {
  const auto column = time_column(table, report);
  if (!column) return;
  struct Step {
    std::size_t row;
    double size;
  };
  std::vector<Step> steps;
  std::optional<double> before;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const CellValue cell = table.value(*column, row);
    if (cell.kind != CellKind::number) continue;
    if (before) steps.push_back({row, cell.number - *before});
    before = cell.number;
  }
  std::vector<double> forward;
  for (const Step& step : steps) {
    if (step.size > 0) forward.push_back(step.size);
  }
  if (forward.size() < 3) return;
  const double usual = median(forward);
  const std::string& name = table.name(*column);
  Finding gaps{"gap", name, 0, {}, ""};
  Finding back{"time-backwards", name, 0, {}, ""};
  double longest = 0;
  for (const Step& step : steps) {
    if (step.size < 0) add_place(back, table.place(*column, step.row));
    if (step.size > 3 * usual) {
      add_place(gaps, table.place(*column, step.row));
      longest = std::max(longest, step.size);
    }
  }
  if (gaps.count > 0) {
    gaps.text = "column '" + name + "': " + counted(gaps.count, "gap") +
                " of more than three times the usual step of " + print_rounded(usual, 4) +
                ", the longest " + print_rounded(longest, 6) + " (first: before " +
                line_text(gaps.first.front()) + ")";
    report.findings.push_back(std::move(gaps));
  }
  if (back.count > 0) {
    back.text = "column '" + name + "' steps backwards " + counted(back.count, "time") +
                " (first: " + line_text(back.first.front()) +
                "): several logs in one file, or a clock that was set?";
    report.findings.push_back(std::move(back));
  }
}

void look_at_repeats(const Table& table, LookReport& report) {
  std::vector<std::size_t> measured;
  for (std::size_t i = 0; i < report.columns.size(); ++i) {
    const Symbol* symbol = find_symbol(report.columns[i].symbol);
    const LookColumn& column = report.columns[i];
    if (symbol == nullptr || column.kind != ColumnKind::number || column.symbol == "record" ||
        symbol->source != SymbolSource::reporting_format) {
      continue;
    }
    // What was set once (area, Patm as typed) repeats anyway and proves nothing.
    if (column.low && *column.low < *column.high) measured.push_back(i);
  }
  if (measured.size() < 2) return;
  Finding repeats{"repeat", "", 0, {}, ""};
  for (std::size_t row = 1; row < table.rows(); ++row) {
    const bool same = std::all_of(measured.begin(), measured.end(), [&](std::size_t column) {
      return trim(table.text(column, row)) == trim(table.text(column, row - 1));
    });
    if (same) add_place(repeats, table.row_place(row));
  }
  if (repeats.count == 0) return;
  repeats.text = counted(repeats.count, "row") + (repeats.count == 1 ? " repeats" : " repeat") +
                 " the row before in all " + std::to_string(measured.size()) +
                 " measured columns (first: " + line_text(repeats.first.front()) +
                 "): logged twice, they count twice in a fit";
  report.findings.push_back(std::move(repeats));
}

void look_at_curves(const Table& table, LookReport& report) {
  if (!table.has("curve_id")) return;
  const auto column = table.find("curve_id");
  if (!column) return;
  Finding again{"curve-in-pieces", "curve_id", 0, {}, ""};
  Finding missing{"rows-without-curve", "curve_id", 0, {}, ""};
  std::set<std::string, std::less<>> seen;
  std::string current, first_again;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string_view id = trim(table.text(*column, row));
    if (is_missing(id)) {
      add_place(missing, table.place(*column, row));
      continue;
    }
    if (id == current) continue;
    current = std::string(id);
    if (!seen.insert(current).second) {
      if (again.count == 0) first_again = current;
      add_place(again, table.place(*column, row));
    }
  }
  if (again.count > 0) {
    again.text = "curve '" + shortened(first_again) + "' comes back at " +
                 line_text(again.first.front()) + " after other curves" +
                 (again.count > 1 ? " (and " + std::to_string(again.count - 1) + " more)" : "") +
                 ": is the name used twice?";
    report.findings.push_back(std::move(again));
  }
  if (missing.count > 0) {
    missing.text = counted(missing.count, "row") +
                   " without a curve_id (first: " + line_text(missing.first.front()) + ")";
    report.findings.push_back(std::move(missing));
  }
}

}  // namespace leafwright
