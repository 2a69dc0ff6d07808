#include "log/select.hpp"

#include <algorithm>
#include <optional>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"

namespace leafwright {

namespace {

struct Filter {
  std::size_t column = 0;
  std::vector<std::string> values;
  std::vector<std::optional<double>> numbers;
};

Result<Filter> parse_filter(const Table& table, const std::string& text) {
  const std::size_t split = text.find('=');
  if (split == std::string::npos || trim(text.substr(0, split)).empty()) {
    return fail(ErrorCode::usage, "'" + shortened(text) + "' does not choose rows",
                "COLUMN=VALUE, as in curve_id=leaf1");
  }
  const std::string name(trim(text.substr(0, split)));
  if (!table.has(name)) {
    Error error = missing_column(table, name, "");
    error.code = ErrorCode::usage;
    error.found += " to choose rows by ('" + shortened(text) + "')";
    return fail(std::move(error));
  }
  const auto column = table.find(name);
  if (!column) return fail(column.error());
  const std::string value(trim(text.substr(split + 1)));
  return Filter{*column, {value}, {parse_number(value)}};
}

bool matches(const Table& table, const Filter& filter, std::size_t row) {
  const std::string_view text = trim(table.text(filter.column, row));
  for (std::size_t i = 0; i < filter.values.size(); ++i) {
    if (text == filter.values[i]) return true;
    if (filter.values[i].empty() && is_missing(text)) return true;
    if (!filter.numbers[i]) continue;
    const CellValue cell = table.value(filter.column, row);
    if (cell.kind == CellKind::number && cell.number == *filter.numbers[i]) return true;
  }
  return false;
}

// What a column holds, for the message: its different texts in order of appearance.
std::string values_of(const Table& table, std::size_t column) {
  std::vector<std::string> out;
  std::set<std::string> seen;
  for (std::size_t row = 0; row < table.rows() && out.size() <= 12; ++row) {
    std::string text = shortened(trim(table.text(column, row)), 40);
    if (!text.empty() && seen.insert(text).second) out.push_back(std::move(text));
  }
  const bool more = out.size() > 12;
  if (more) out.resize(12);
  return join(out) + (more ? ", ..." : "");
}

}  // namespace

Result<std::vector<std::size_t>> select_rows(const Table& table,
                                             const std::vector<std::string>& only) {
  std::vector<Filter> filters;
  for (const std::string& text : only) {
    auto filter = parse_filter(table, text);
    if (!filter) return fail(filter.error());
    const auto same = std::find_if(filters.begin(), filters.end(), [&](const Filter& other) {
      return other.column == filter->column;
    });
    if (same == filters.end()) {
      filters.push_back(std::move(*filter));
    } else {
      same->values.push_back(filter->values.front());
      same->numbers.push_back(filter->numbers.front());
    }
  }
  std::vector<std::size_t> rows;
  std::vector<bool> met(filters.size(), false);
  for (std::size_t row = 0; row < table.rows(); ++row) {
    bool all = true;
    for (std::size_t i = 0; i < filters.size(); ++i) {
      const bool one = matches(table, filters[i], row);
      if (one) met[i] = true;
      all = all && one;
    }
    if (all) rows.push_back(row);
  }
  if (!rows.empty() || filters.empty()) return rows;
  for (std::size_t i = 0; i < filters.size(); ++i) {
    if (met[i]) continue;
    const std::string& name = table.name(filters[i].column);
    return fail(ErrorCode::usage,
                "no row of " + table.file() + " has " + name + " = '" +
                    join(filters[i].values, "' or '") + "'",
                "a value of the column: " + values_of(table, filters[i].column));
  }
  return fail(ErrorCode::usage, "no row of " + table.file() + " has all of " + join(only),
              "values that are there together");
}

Setting only_setting() {
  return {.name = "only",
          .kind = SettingKind::list,
          .help =
              "use only rows with this value; the same column twice means either, different "
              "columns mean both",
          .source = "the user's own",
          .value_name = "COLUMN=VALUE"};
}

}  // namespace leafwright
