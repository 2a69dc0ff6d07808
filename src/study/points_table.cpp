#include "study/points_table.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/number.hpp"
#include "quantity/symbol.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

/// The columns of numbers over all logs: each log's order is kept.
std::vector<std::string> number_columns(std::span<const NamedPoints> logs) {
  std::vector<std::string> out;
  for (const NamedPoints& log : logs) {
    std::size_t at = 0;
    for (const std::string& name : log.points->columns) {
      const auto found = std::find(out.begin(), out.end(), name);
      if (found != out.end()) {
        at = static_cast<std::size_t>(found - out.begin()) + 1;
      } else {
        out.insert(out.begin() + static_cast<std::ptrdiff_t>(at++), name);
      }
    }
  }
  return out;
}

/// "Ci" of "Ci_sd" and "Ci_recorded".
std::string_view symbol_part(std::string_view name) {
  for (const std::string_view tail : {"_sd", "_recorded"}) {
    if (name.ends_with(tail)) name.remove_suffix(tail.size());
  }
  return name;
}

std::string unit_of(const std::string& column) {
  const Symbol* symbol = find_symbol(symbol_part(column));
  if (symbol == nullptr) return "";
  return column.ends_with("_sd") && symbol->unit == "degC" ? "K" : std::string(symbol->unit);
}

const std::vector<std::string> lead = {"curve_id", "file", "line"};
const std::vector<std::string> tail = {"flags", "use", "why"};

/// Does any log state its method?
bool has_method(std::span<const NamedPoints> logs) {
  return std::any_of(logs.begin(), logs.end(),
                     [](const NamedPoints& log) { return !log.method.empty(); });
}

std::vector<std::string> sample_columns(const Samples* samples) {
  std::vector<std::string> out;
  if (samples == nullptr) return out;
  for (const std::string& name : samples->other) {
    // A name that is taken keeps its own place.
    const bool taken = name == "method" ||
                       std::find(lead.begin(), lead.end(), name) != lead.end() ||
                       std::find(tail.begin(), tail.end(), name) != tail.end();
    out.push_back(taken ? "samples_" + name : name);
  }
  return out;
}

/// Numbers that were computed carry noise far above their tenth digit.
void add_number(CsvWriter& csv, double value) {
  if (!std::isfinite(value)) {
    csv.missing();
  } else {
    csv.text(print_rounded(value, 10));
  }
}

}  // namespace

std::vector<std::pair<std::string, std::string>> points_table_columns(
    std::span<const NamedPoints> logs, const Samples* samples) {
  std::vector<std::pair<std::string, std::string>> out;
  for (const std::string& name : lead) out.emplace_back(name, "");
  for (const std::string& name : number_columns(logs)) out.emplace_back(name, unit_of(name));
  for (const std::string& name : tail) out.emplace_back(name, "");
  if (has_method(logs)) out.emplace_back("method", "");
  for (const std::string& name : sample_columns(samples)) out.emplace_back(name, "");
  return out;
}

std::string points_table(std::span<const NamedPoints> logs, const Samples* samples) {
  CsvWriter csv;
  for (const auto& [name, unit] : points_table_columns(logs, samples)) csv.text(name);
  csv.end_row();
  const auto numbers = number_columns(logs);
  const bool method = has_method(logs);
  for (const NamedPoints& log : logs) {
    const LogPoints& points = *log.points;
    std::vector<std::size_t> from;  // where each column of the table stands in this log
    for (const std::string& name : numbers) {
      const auto at = std::find(points.columns.begin(), points.columns.end(), name);
      from.push_back(static_cast<std::size_t>(at - points.columns.begin()));
    }
    const std::size_t width = points.columns.size();
    for (std::size_t c = 0; c < points.curves.size(); ++c) {
      const Sample* sample =
          samples == nullptr ? nullptr : samples->find(points.curves[c].curve_id, log.log);
      for (const CurveRow& row : points.curves[c].rows) {
        csv.text(log.ids[c]).text(row.place.file).text(std::to_string(row.place.line));
        for (const std::size_t at : from) {
          add_number(csv, at < width ? points.values[c][row.row * width + at]
                                     : std::numeric_limits<double>::quiet_NaN());
        }
        csv.text(points.flags[c][row.row]).text(row.use ? "1" : "0").text(row.why);
        if (method) csv.text(log.method);
        if (samples != nullptr) {
          for (const std::string& name : samples->other) {
            const bool known = sample != nullptr && sample->other.contains(name);
            csv.text(known ? sample->other.at(name) : "");
          }
        }
        csv.end_row();
      }
    }
  }
  return csv.take();
}

}  // namespace leafwright
