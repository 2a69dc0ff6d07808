#include "log/samples.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <limits>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "log/cut.hpp"

namespace leafwright {

namespace {

struct NumberSlot {
  const char* name;
  const char* unit;
  double low, high;  ///< low itself is refused
  std::optional<double> Sample::*value;
};
constexpr double infinite = std::numeric_limits<double>::infinity();
constexpr std::array<NumberSlot, 6> numbers{{
    {"area", "cm2", 0, infinite, &Sample::area},
    {"area_sd", "cm2", -1e-300, infinite, &Sample::area_sd},
    {"cover", "1", 0, 1, &Sample::cover},
    {"half_total_ratio", "1", 0.999999, 10, &Sample::half_total_ratio},
    {"stomatal_ratio", "1", -1e-300, infinite, &Sample::stomatal_ratio},
    {"gbw", "mmol m-2 s-1", 0, infinite, &Sample::gbw},
}};

struct TextSlot {
  const char* name;
  std::string Sample::*value;
};
constexpr std::array<TextSlot, 7> texts{{{"curve_id", &Sample::curve_id},
                                         {"file", &Sample::file},
                                         {"from", &Sample::from},
                                         {"to", &Sample::to},
                                         {"rename", &Sample::rename},
                                         {"reason", &Sample::reason},
                                         {"area_method", &Sample::area_method}}};

class SamplesReader {
 public:
  explicit SamplesReader(const Table& table) : table_(table) {}
  Result<Samples> read();

 private:
  Result<void> find_columns();
  Result<void> read_row(std::size_t row);
  Result<void> read_numbers(Sample& sample, std::size_t row);
  Result<void> read_basis(Sample& sample, std::size_t row);
  Result<bool> is_repeat(const Sample& sample);

  const Table& table_;
  Samples out_;
  std::array<std::optional<QuantityColumn>, numbers.size()> number_columns_;
  std::array<std::optional<std::size_t>, texts.size()> text_columns_;
  std::optional<std::size_t> basis_;
  std::vector<std::size_t> other_;
};

Result<void> SamplesReader::find_columns() {
  if (!table_.has("curve_id")) {
    return fail(missing_column(table_, "curve_id", "the column that names the curve of each row"));
  }
  std::vector<std::size_t> known;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (!table_.has(numbers[i].name)) continue;
    auto column = QuantityColumn::find(table_, numbers[i].name, numbers[i].unit);
    if (!column) return fail(column.error());
    known.push_back(column->column());
    number_columns_[i] = std::move(*column);
  }
  for (std::size_t i = 0; i < texts.size(); ++i) {
    if (!table_.has(texts[i].name)) continue;
    const auto column = table_.find(texts[i].name);
    if (!column) return fail(column.error());
    known.push_back(*column);
    text_columns_[i] = *column;
  }
  if (table_.has("area_basis")) {
    const auto column = table_.find("area_basis");
    if (!column) return fail(column.error());
    known.push_back(*column);
    basis_ = *column;
  }
  for (std::size_t i = 0; i < table_.columns(); ++i) {
    if (std::find(known.begin(), known.end(), i) != known.end() || table_.name(i).empty()) continue;
    other_.push_back(i);
    out_.other.push_back(table_.name(i));
  }
  return {};
}

Result<void> SamplesReader::read_numbers(Sample& sample, std::size_t row) {
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (!number_columns_[i]) continue;
    const auto value = number_columns_[i]->read(row);
    if (!value) return fail(value.error());
    if (!*value) continue;
    const NumberSlot& slot = numbers[i];
    if (!(**value > slot.low) || **value > slot.high) {
      const std::string unit = std::string(slot.unit) == "1" ? "" : " " + std::string(slot.unit);
      const double low = std::max(0.0, slot.low < 0.5 ? 0.0 : 1.0);
      return fail(ErrorCode::unreadable,
                  std::string(slot.name) + " is " + print_number(**value) + unit,
                  (slot.low < 0 || low > 0 ? "at least " : "more than ") + print_number(low) +
                      (slot.high < infinite ? ", at most " + print_number(slot.high) : "") + unit,
                  "correct the cell, or empty it where the value is not known",
                  number_columns_[i]->place(row));
    }
    sample.*slot.value = **value;
  }
  return {};
}

Result<void> SamplesReader::read_basis(Sample& sample, std::size_t row) {
  if (!basis_) return {};
  const std::string_view text = trim(table_.text(*basis_, row));
  if (is_missing(text)) return {};
  const auto basis = find_area_basis(text);
  if (!basis) {
    Error error = basis.error();
    error.code = ErrorCode::unreadable;
    error.place = table_.place(*basis_, row);
    return fail(std::move(error));
  }
  sample.area_basis = *basis;
  return {};
}

/// What two rows of one curve say differently, as "area 4 and 5"; "" where they agree.
std::string difference(const Sample& a, const Sample& b) {
  for (const NumberSlot& slot : numbers) {
    const auto& x = a.*slot.value;
    const auto& y = b.*slot.value;
    if (x != y) {
      return std::string(slot.name) + " " + (x ? print_number(*x) : "empty") + " and " +
             (y ? print_number(*y) : "empty");
    }
  }
  for (const TextSlot& slot : texts) {
    if (a.*slot.value != b.*slot.value) {
      return std::string(slot.name) + " '" + a.*slot.value + "' and '" + b.*slot.value + "'";
    }
  }
  if (a.area_basis != b.area_basis) return "area_basis";
  for (const auto& [name, text] : a.other) {
    const std::string& theirs = b.other.at(name);
    if (theirs != text) return fmt::format("{} '{}' and '{}'", name, text, theirs);
  }
  return "";
}

bool same_key(const Sample& a, const Sample& b) {
  if (a.curve_id != b.curve_id || a.from != b.from || a.to != b.to) return false;
  return a.file.empty() || b.file.empty() || same_log(a.file, b.file);
}

Result<bool> SamplesReader::is_repeat(const Sample& sample) {
  for (const Sample& other : out_.rows) {
    if (!same_key(sample, other)) continue;
    const std::string unlike = difference(other, sample);
    if (!unlike.empty()) {
      return fail(ErrorCode::refused,
                  "two rows for curve '" + shortened(sample.curve_id) + "' that differ: " + unlike +
                      " (the other is line " + std::to_string(other.place.line) + ")",
                  "one row a curve", "remove or correct one of them", sample.place);
    }
    out_.notes.push_back({NoteLevel::info, "sample-twice",
                          "curve '" + sample.curve_id + "' is there twice with the same values (" +
                              line_text(other.place) + " and line " +
                              std::to_string(sample.place.line) + "); taken once"});
    return true;
  }
  return false;
}

Result<void> SamplesReader::read_row(std::size_t row) {
  Sample sample;
  sample.place = table_.row_place(row);
  if (const std::string fault = table_.row_fault(row); !fault.empty()) {
    return fail(ErrorCode::unreadable, fault, "one cell for each title", "correct the row",
                sample.place);
  }
  for (std::size_t i = 0; i < texts.size(); ++i) {
    if (!text_columns_[i]) continue;
    const std::string_view text = trim(table_.text(*text_columns_[i], row));
    if (!is_missing(text)) sample.*texts[i].value = std::string(text);
  }
  if (sample.curve_id.empty()) {
    return fail(ErrorCode::unreadable, "no curve_id in this row", "the id of its curve", "",
                sample.place);
  }
  if (auto ok = read_numbers(sample, row); !ok) return ok;
  if (auto ok = read_basis(sample, row); !ok) return ok;
  for (std::size_t i = 0; i < other_.size(); ++i) {
    const std::string_view text = trim(table_.text(other_[i], row));
    sample.other[out_.other[i]] = is_missing(text) ? "" : std::string(text);
  }
  const auto repeat = is_repeat(sample);
  if (!repeat) return fail(repeat.error());
  if (!*repeat) out_.rows.push_back(std::move(sample));
  return {};
}

Result<Samples> SamplesReader::read() {
  out_.file = table_.file();
  out_.notes = table_.notes();
  if (auto ok = find_columns(); !ok) return fail(ok.error());
  for (std::size_t row = 0; row < table_.rows(); ++row) {
    if (auto ok = read_row(row); !ok) return fail(ok.error());
  }
  std::vector<std::string> assumed;
  for (const auto& column : number_columns_) {
    if (!column) continue;
    out_.notes.insert(out_.notes.end(), column->notes().begin(), column->notes().end());
    if (column->assumed_unit() && (column->name() == "area" || column->name() == "gbw")) {
      assumed.push_back(column->name() +
                        (column->name() == "area" ? " in cm2" : " in mmol m-2 s-1"));
    }
  }
  if (!assumed.empty()) {
    out_.notes.push_back({NoteLevel::info, "units-assumed",
                          table_.file() + " states no unit; assumed: " + join(assumed)});
  }
  return std::move(out_);
}

}  // namespace

bool same_log(const std::string& a, const std::string& b) {
  const auto has_folder = [](const std::string& name) {
    return name.find_first_of("/\\") != std::string::npos;
  };
  if (has_folder(a) && has_folder(b)) return a == b;
  const auto base = [](const std::string& name) {
    const std::size_t slash = name.find_last_of("/\\");
    return slash == std::string::npos ? name : name.substr(slash + 1);
  };
  return base(a) == base(b);
}

const Sample* Samples::find(const std::string& curve_id, const std::string& log) const {
  const Sample* renamed = nullptr;
  for (const Sample& sample : rows) {
    if (!sample.file.empty() && !same_log(sample.file, log)) continue;
    if (sample.curve_id == curve_id) return &sample;
    if (sample.rename == curve_id && renamed == nullptr) renamed = &sample;
  }
  return renamed;
}

std::vector<const Sample*> Samples::windows(const std::string& log) const {
  std::vector<const Sample*> out;
  for (const Sample& sample : rows) {
    if (sample.has_window() && (sample.file.empty() || same_log(sample.file, log))) {
      out.push_back(&sample);
    }
  }
  return out;
}

Notes join_notes(const Cut& cut, const Samples& samples, const std::string& log) {
  Notes out;
  std::vector<std::string> ids, known;
  for (const CutCurve& curve : cut.curves) ids.push_back(curve.curve_id);
  for (const Sample& sample : samples.rows) known.push_back(sample.name());
  for (const std::string& id : ids) {
    if (samples.find(id, log) != nullptr) continue;
    const auto near = nearest_name(id, known);
    std::string text = fmt::format("curve '{}' of {} is not in {}", id, log, samples.file);
    if (near) {
      text += fmt::format(
          "; if '{0}' is meant, rename it: --rename '{1}={0}', or a column rename in the samples "
          "table",
          *near, id);
    }
    out.push_back({NoteLevel::caution, "curve-not-in-samples", std::move(text)});
  }
  for (const Sample& sample : samples.rows) {
    if (!sample.file.empty() && !same_log(sample.file, log)) continue;
    if (std::find(ids.begin(), ids.end(), sample.name()) != ids.end()) continue;
    const auto near = nearest_name(sample.name(), ids);
    out.push_back({sample.file.empty() ? NoteLevel::info : NoteLevel::caution, "sample-not-in-log",
                   "curve '" + sample.name() + "' (" + line_text(sample.place) + ") is not in " +
                       log + (near ? "; is it '" + *near + "'?" : "")});
  }
  return out;
}

Result<Samples> read_samples(const Table& table) {
  return SamplesReader(table).read();
}

}  // namespace leafwright
