#include "table/csv.hpp"

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

std::string csv_cell(std::string_view value) {
  const bool plain = value.find_first_of(",\"\r\n\t") == std::string_view::npos &&
                     trim(value).size() == value.size() && (value.empty() || value.front() != '#');
  if (plain) return std::string(value);
  std::string out = "\"";
  for (const char c : value) {
    if (c == '"') out += '"';
    out += c;
  }
  return out + "\"";
}

void CsvWriter::next_cell() {
  if (!first_) out_ += ',';
  first_ = false;
}

CsvWriter& CsvWriter::text(std::string_view value) {
  next_cell();
  out_ += csv_cell(value);
  return *this;
}

CsvWriter& CsvWriter::number(double value) {
  next_cell();
  out_ += print_number(value);
  return *this;
}

CsvWriter& CsvWriter::number(std::optional<double> value) {
  return value ? number(*value) : missing();
}

CsvWriter& CsvWriter::missing() {
  next_cell();
  return *this;
}

CsvWriter& CsvWriter::end_row() {
  // A row of one missing cell would be a blank line, which readers skip.
  if (out_.size() == row_begin_) out_ += "\"\"";
  out_ += '\n';
  row_begin_ = out_.size();
  first_ = true;
  return *this;
}

}  // namespace leafwright
