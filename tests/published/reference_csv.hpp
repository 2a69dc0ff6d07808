// Reads the reference tables for the published checks: quoted fields, one header row. Kept apart
// from the library's own reader, so that a fault there cannot hide one here.
#pragma once

#include <cstddef>
#include <cstdlib>
#include <fstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace leafwright::published {

/// One row of a table with the columns quantity,symbol,value,unit,condition,source,looked_up.
struct ReferenceRow {
  std::size_t line = 0;
  std::string quantity, symbol, value, unit, condition, source, looked_up;

  [[nodiscard]] double number() const { return std::strtod(value.c_str(), nullptr); }

  /// Half a unit of the last printed digit: how exactly the table states its number.
  [[nodiscard]] double half_unit() const {
    const std::size_t point = value.find('.');
    double unit_in_last_place = 1;
    if (point != std::string::npos)
      for (std::size_t i = point + 1; i < value.size(); ++i) unit_in_last_place /= 10;
    return unit_in_last_place / 2;
  }

  [[nodiscard]] std::string where() const {
    return "line " + std::to_string(line) + ": " + quantity + " " + symbol + " (" + condition +
           "; " + source + "; " + looked_up + ")";
  }
};

/// The number that follows `label` in `text`, such as "t=" in "t=10 degC".
inline double number_after(const std::string& text, const std::string& label) {
  const std::size_t at = text.find(label);
  if (at == std::string::npos) throw std::runtime_error("no '" + label + "' in: " + text);
  return std::strtod(text.c_str() + at + label.size(), nullptr);
}

inline std::vector<std::string> split_csv(const std::string& line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (const char c : line) {
    if (c == '"')
      quoted = !quoted;
    else if (c == ',' && !quoted)
      fields.emplace_back();
    else
      fields.back() += c;
  }
  return fields;
}

/// All rows of data/reference/`name`. Throws where the file is missing or a row is malformed.
inline std::vector<ReferenceRow> read_reference(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/reference/" + name);
  if (!file) throw std::runtime_error("cannot read " + name);
  std::vector<ReferenceRow> rows;
  std::string line;
  for (std::size_t number = 1; std::getline(file, line); ++number) {
    const std::vector<std::string> f = split_csv(line);
    if (f.size() != 7) throw std::runtime_error(name + ":" + std::to_string(number) + ": fields");
    if (number > 1) rows.push_back({number, f[0], f[1], f[2], f[3], f[4], f[5], f[6]});
  }
  return rows;
}

/// The rows of a worked example, such as "EX13".
inline std::vector<ReferenceRow> example(const std::string& id) {
  std::vector<ReferenceRow> rows;
  for (const ReferenceRow& row : read_reference("10_worked_examples.csv"))
    if (row.quantity.starts_with(id + " ")) rows.push_back(row);
  return rows;
}

}  // namespace leafwright::published
