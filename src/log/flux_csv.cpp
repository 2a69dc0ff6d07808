#include "log/flux_csv.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <iterator>

#include "base/text.hpp"
#include "quantity/symbol.hpp"
#include "table/csv.hpp"

namespace leafwright {

namespace {

/// A column of the log as it is carried along.
struct Carried {
  std::size_t column;
  bool numbers_in_commas;  ///< the log has a decimal comma
};

/// A computed column: numbers, or text made by row.
struct Made {
  FluxColumn column;
  const std::vector<double>* numbers = nullptr;
  std::function<void(std::size_t, std::string&)> text;
};

void append_number(std::string& out, double value) {
  if (!std::isfinite(value)) return;
  if (value == 0) {
    out += '0';
    return;
  }
  fmt::format_to(std::back_inserter(out), "{}", value);
}

void append_text(std::string& out, std::string_view text) {
  const bool plain = text.find_first_of(",\"\r\n\t") == std::string_view::npos &&
                     (text.empty() || (text.front() != '#' && trim(text).size() == text.size()));
  if (plain) {
    out += text;
  } else {
    out += csv_cell(text);
  }
}

class FluxWriter {
 public:
  FluxWriter(const FluxSource& source, const FluxRows& rows)
      : source_(source), rows_(rows), table_(source.log->table()) {}

  Result<FluxTable> write();

 private:
  void make_columns();
  void add_numbers(const char* name, const char* unit, const char* meaning,
                   const std::vector<double>& values);
  void add_text(const char* name, const char* meaning,
                std::function<void(std::size_t, std::string&)> text);
  void add_renamed_inputs();
  [[nodiscard]] bool makes(const std::string& name) const;
  Result<void> take_column(std::size_t column);
  void row(std::size_t at);

  const FluxSource& source_;
  const FluxRows& rows_;
  const Table& table_;
  FluxTable out_;
  std::vector<Carried> carried_;
  std::vector<Made> made_;
};

void FluxWriter::add_numbers(const char* name, const char* unit, const char* meaning,
                             const std::vector<double>& values) {
  if (!values.empty()) made_.push_back({{name, unit, meaning}, &values, {}});
}

void FluxWriter::add_text(const char* name, const char* meaning,
                          std::function<void(std::size_t, std::string&)> text) {
  made_.push_back({{name, "", meaning}, nullptr, std::move(text)});
}

// What a fit reads must stand under its own name, in its own unit.
void FluxWriter::add_renamed_inputs() {
  const auto named = [&](const char* symbol) {
    const Channel* channel = source_.log->find(symbol);
    if (channel == nullptr) return !table_.has(symbol);
    if (channel->column == Channel::no_column) return true;
    return table_.name(channel->column) != symbol;
  };
  if (named("Tleaf")) add_numbers("Tleaf", "degC", "as used", rows_.Tleaf);
  if (named("Patm")) add_numbers("Patm", "kPa", "as used", rows_.Patm);
  const Channel* Qin = source_.log->find("Qin");
  if (Qin != nullptr && named("Qin")) {
    add_numbers("Qin", "umol m-2 s-1", "as mapped", Qin->values);
  }
}

void FluxWriter::make_columns() {
  const Cut& cut = *source_.cut;
  const bool renamed = std::any_of(cut.curves.begin(), cut.curves.end(),
                                   [](const CutCurve& c) { return c.curve_id != c.recorded_id; });
  if (!table_.has("curve_id") || renamed) {
    add_text("curve_id", "the curve that the row was cut into",
             [&cut](std::size_t row, std::string& out) {
               const std::uint32_t at = cut.curve_of[row];
               if (at != Cut::no_curve) append_text(out, cut.curves[at].curve_id);
             });
  }
  add_renamed_inputs();
  add_numbers("E", "mmol m-2 s-1", "transpiration per leaf area", rows_.E);
  add_numbers("A", "umol m-2 s-1", "net CO2 exchange per leaf area", rows_.A);
  add_numbers("gsw", "mmol m-2 s-1", "stomatal conductance to water vapour", rows_.gsw);
  add_numbers("Ci", "umol mol-1", "intercellular CO2", rows_.Ci);
  add_numbers("VPDleaf", "kPa", "leaf to air vapour pressure deficit", rows_.VPDleaf);
  add_numbers("E_sd", "mmol m-2 s-1", "standard deviation from the stated noise", rows_.E_sd);
  add_numbers("A_sd", "umol m-2 s-1", "standard deviation from the stated noise", rows_.A_sd);
  add_numbers("gsw_sd", "mmol m-2 s-1", "standard deviation from the stated noise", rows_.gsw_sd);
  add_numbers("Ci_sd", "umol mol-1", "standard deviation from the stated noise", rows_.Ci_sd);
  add_numbers("cov_A_Ci", "umol2 m-2 s-1 mol-1", "covariance of A and Ci from the stated noise",
              rows_.cov_A_Ci);
  add_numbers("equalised_s", "s", "since the cells were last equalised", rows_.age_s);
  add_text("flags", "what is unusual; the row is used", [this](std::size_t row, std::string& out) {
    if (rows_.flags[row] != 0) append_text(out, rows_.flag_names(row));
  });
  add_text("use", "1: takes part in fits, 0: does not",
           [this](std::size_t row, std::string& out) { out += rows_.use[row] != 0 ? '1' : '0'; });
  add_text("why", "why the row does not take part", [this](std::size_t row, std::string& out) {
    if (rows_.why[row] != 0) append_text(out, rows_.reason(row));
  });
}

bool FluxWriter::makes(const std::string& name) const {
  return std::any_of(made_.begin(), made_.end(),
                     [&](const Made& made) { return made.column.name == name; });
}

Result<void> FluxWriter::take_column(std::size_t column) {
  std::string name = table_.name(column);
  const std::size_t blocks = table_.layout().blocks.size();
  std::string unit = table_.unit(column, 0);
  for (std::size_t block = 1; block < blocks; ++block) {
    if (table_.unit(column, block) == unit) continue;
    if (unit.empty()) unit = table_.unit(column, block);
    if (table_.unit(column, block).empty()) continue;
    if (table_.unit(column, block) == unit) continue;
    return fail(ErrorCode::refused,
                "column '" + shortened(name) + "' is in '" + shortened(unit) +
                    "' in one block and '" + shortened(table_.unit(column, block)) + "' in another",
                "one unit for the whole table that is written", "split the log at its headers",
                table_.unit_place(column, block));
  }
  if (makes(name)) {
    if (table_.has(name + "_recorded")) {
      return fail(ErrorCode::refused,
                  "columns '" + name + "' and '" + name + "_recorded' are both in the log",
                  "room for the recorded " + name + " beside the computed one",
                  "rename one of them; a table that flux wrote is not to be put through it again",
                  {table_.file(), table_.layout().blocks.front().header_line, 0, ""});
    }
    name += "_recorded";
  }
  // Without a units row a stated unit would be lost; one in brackets of the title stays there.
  std::string title = unit.empty() ? name : name + " (" + unit + ")";
  const Symbol* symbol = find_symbol(table_.name(column));
  if (symbol != nullptr && (symbol->unit == unit || symbol->unit == "1")) title = name;
  out_.columns.push_back({title, unit, "as in the log"});
  carried_.push_back({column, table_.layout().decimal == ','});
  return {};
}

void FluxWriter::row(std::size_t at) {
  std::string& out = out_.csv;
  bool first = true;
  for (const Carried& carried : carried_) {
    if (!first) out += ',';
    first = false;
    const std::string_view text = table_.text(carried.column, at);
    if (carried.numbers_in_commas && text.find(',') != std::string_view::npos &&
        table_.value(carried.column, at).kind == CellKind::number) {
      std::string point(text);
      std::replace(point.begin(), point.end(), ',', '.');
      append_text(out, point);
    } else {
      append_text(out, text);
    }
  }
  for (const Made& made : made_) {
    if (!first) out += ',';
    first = false;
    if (made.numbers != nullptr) {
      append_number(out, (*made.numbers)[at]);
    } else {
      made.text(at, out);
    }
  }
  out += '\n';
}

Result<FluxTable> FluxWriter::write() {
  make_columns();
  for (std::size_t column = 0; column < table_.columns(); ++column) {
    if (auto ok = take_column(column); !ok) return fail(ok.error());
  }
  for (const Made& made : made_) out_.columns.push_back(made.column);
  CsvWriter head;
  for (const FluxColumn& column : out_.columns) head.text(column.name);
  head.end_row();
  out_.csv = head.take();
  if (table_.rows() > 0) {
    // One allocation: growing hundreds of megabytes by doubling needs twice the memory.
    const std::size_t start = out_.csv.size();
    const std::size_t sample = std::min<std::size_t>(table_.rows(), 1000);
    for (std::size_t at = 0; at < sample; ++at) row(at);
    const double per_row =
        static_cast<double>(out_.csv.size() - start) / static_cast<double>(sample);
    out_.csv.reserve(start +
                     static_cast<std::size_t>(1.1 * per_row * static_cast<double>(table_.rows())) +
                     4096);
    for (std::size_t at = sample; at < table_.rows(); ++at) row(at);
  }
  return std::move(out_);
}

}  // namespace

Result<FluxTable> flux_table(const FluxSource& source, const FluxRows& rows) {
  return FluxWriter(source, rows).write();
}

}  // namespace leafwright
