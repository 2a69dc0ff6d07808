#include "cli/agree_curves.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright::cli {
namespace {

/// Labels from columns of one table, one row at a time.
class LabelReader {
 public:
  static Result<LabelReader> open(const Table& table, const LabelColumns& labels) {
    LabelReader out;
    out.table_ = &table;
    out.names_ = {labels.leaf, labels.plant, labels.method, labels.order};
    for (std::size_t k = 0; k < out.names_.size(); ++k) {
      if (out.names_[k].empty()) continue;
      auto column = table.find(out.names_[k]);
      if (!column) {
        Error error = column.error();
        error.hint += (error.hint.empty() ? "" : "; ") + std::string("name the column with --") +
                      options[k] + ", or give a table of curve_id and these columns with --samples";
        return fail(std::move(error));
      }
      out.columns_[k] = *column;
    }
    return out;
  }

  /// Reads the row into `into`. Errors: unreadable, with the place, for a missing leaf, plant or
  /// method, an order that is no number, or a label unlike the one that is there already.
  [[nodiscard]] Result<void> read(std::size_t row, const std::string& curve,
                                  CurveLabels& into) const {
    const std::array<std::string*, 3> texts = {&into.leaf, &into.plant, &into.method};
    for (std::size_t k = 0; k < texts.size(); ++k) {
      if (!columns_[k]) continue;
      const std::string value(table_->text(*columns_[k], row));
      if (is_missing(value)) {
        return bad(k, row, "curve '" + curve + "' has no " + names_[k], "a name in every row");
      }
      if (!texts[k]->empty() && *texts[k] != value) {
        return bad(k, row,
                   fmt::format("curve '{}' has two values of {}: '{}' and '{}'", curve, names_[k],
                               *texts[k], value),
                   "one for all rows of a curve");
      }
      *texts[k] = value;
    }
    if (!columns_[3]) return {};
    const auto order = table_->number(*columns_[3], row);
    if (!order) return fail(order.error());
    if (*order && into.order && **order != *into.order) {
      return bad(3, row,
                 fmt::format("curve '{}' has two values of {}: {} and {}", curve, names_[3],
                             print_number(*into.order), print_number(**order)),
                 "one for all rows of a curve");
    }
    if (*order) into.order = **order;
    return {};
  }

 private:
  static constexpr std::array<const char*, 4> options = {"leaf", "plant", "method", "order"};

  [[nodiscard]] Result<void> bad(std::size_t label, std::size_t row, std::string found,
                                 std::string expected) const {
    return fail(ErrorCode::unreadable, std::move(found), std::move(expected), "",
                table_->place(*columns_[label], row));
  }

  const Table* table_ = nullptr;
  std::array<std::string, 4> names_;
  std::array<std::optional<std::size_t>, 4> columns_;
};

/// Labels of every curve in a samples table.
Result<std::map<std::string, CurveLabels>> sample_labels(const LabelColumns& labels) {
  const Table& table = *labels.samples;
  const auto id = table.find("curve_id");
  if (!id) return fail(id.error());
  const auto reader = LabelReader::open(table, labels);
  if (!reader) return fail(reader.error());
  std::map<std::string, CurveLabels> out;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string curve(table.text(*id, row));
    if (auto ok = reader->read(row, curve, out[curve]); !ok) return fail(ok.error());
  }
  return out;
}

Result<CurveLabels> labels_of(const std::map<std::string, CurveLabels>& samples,
                              const std::string& curve, const Table& table) {
  const auto found = samples.find(curve);
  if (found != samples.end()) return found->second;
  return fail(ErrorCode::unreadable, "curve '" + curve + "' is not among the samples",
              "a row with this curve_id in '" + table.file() + "'");
}

/// Rows of the table by their line: a curve's rows know their place only.
std::map<std::size_t, std::size_t> rows_by_line(const Table& table) {
  std::map<std::size_t, std::size_t> out;
  for (std::size_t row = 0; row < table.rows(); ++row) out[table.row_place(row).line] = row;
  return out;
}

/// Was the row left out by its mark alone, and is it sound otherwise?
bool only_marked(const CurveRow& row, const Table& table, std::size_t at) {
  if (row.use || !table.has("use") || !table.row_fault(at).empty()) return false;
  const CellValue use = table.value(*table.find("use"), at);
  const bool is_false = same_letters(table.text(*table.find("use"), at), "false");
  if (!is_false && !(use.kind == CellKind::number && use.number == 0)) return false;
  for (const char* name : {"A", "Ci", "Tleaf", "Patm"}) {
    if (!table.has(name)) continue;
    if (table.value(*table.find(name), at).kind != CellKind::number) return false;
  }
  return row.Ci > 0;
}

std::optional<Curve> unmarked_of(const Curve& curve, const Table& table,
                                 const std::map<std::size_t, std::size_t>& rows) {
  Curve out = curve;
  bool any = false;
  for (CurveRow& row : out.rows) {
    const auto at = rows.find(row.place.line);
    if (at == rows.end() || !only_marked(row, table, at->second)) continue;
    row.use = true;
    row.why.clear();
    any = true;
  }
  if (!any) return std::nullopt;
  return out;
}

}  // namespace

LabelColumns label_columns(const Settings& agree, const Table* samples) {
  return {agree.text("leaf"), agree.text("plant"), agree.text("method"), agree.text("order"),
          samples};
}

Result<ReadCurves> curves_of_points(const Table& table, const PointsOptions& options,
                                    const LabelColumns& labels) {
  auto points = cut_points(table, options);
  if (!points) return fail(points.error());
  std::map<std::string, CurveLabels> samples;
  std::optional<LabelReader> reader;
  if (labels.samples != nullptr) {
    auto read = sample_labels(labels);
    if (!read) return fail(read.error());
    samples = std::move(*read);
  } else {
    auto opened = LabelReader::open(table, labels);
    if (!opened) return fail(opened.error());
    reader = *opened;
  }
  const std::map<std::size_t, std::size_t> rows = rows_by_line(table);
  ReadCurves out;
  out.notes = std::move(points->notes);
  for (const Error& problem : points->problems) out.problems.push_back(problem.text());
  for (const UnreadCurve& curve : points->failed) {
    out.left_out.push_back("curve '" + curve.curve_id + "': " + curve.why);
  }
  for (Curve& curve : points->curves) {
    LabelledCurve one;
    one.file = table.file();
    if (labels.samples != nullptr) {
      auto found = labels_of(samples, curve.curve_id, *labels.samples);
      if (!found) return fail(found.error());
      one.labels = std::move(*found);
    }
    for (const CurveRow& row : curve.rows) {
      const auto at = rows.find(row.place.line);
      if (!reader || at == rows.end()) continue;
      if (auto ok = reader->read(at->second, curve.curve_id, one.labels); !ok) {
        return fail(ok.error());
      }
    }
    one.unmarked = unmarked_of(curve, table, rows);
    one.points = std::move(curve);
    out.curves.push_back(std::move(one));
  }
  return out;
}

bool is_fit_table(const Table& table) {
  return table.has("curve_id") && table.has("Vcmax") && table.has("Vcmax_status") &&
         !table.has("Ci");
}

Result<ReadCurves> curves_of_fit_table(const Table& table, const std::string& values,
                                       const LabelColumns& labels) {
  std::map<std::string, CurveLabels> samples;
  if (labels.samples != nullptr) {
    auto read = sample_labels(labels);
    if (!read) return fail(read.error());
    samples = std::move(*read);
  }
  ReadCurves out;
  const auto number = [&](const std::string& name, std::size_t row) -> std::optional<double> {
    if (!table.has(name)) return {};
    const CellValue cell = table.value(*table.find(name), row);
    return cell.kind == CellKind::number ? std::optional(cell.number) : std::nullopt;
  };
  const auto text = [&](const std::string& name, std::size_t row) {
    return table.has(name) ? std::string(table.text(*table.find(name), row)) : std::string();
  };
  for (std::size_t row = 0; row < table.rows(); ++row) {
    LabelledCurve one;
    one.file = table.file();
    MethodCurve fit;
    fit.curve_id = text("curve_id", row);
    fit.failed = text("failed", row);
    fit.Tleaf = number("Tleaf", row);
    for (const char* symbol : {"Vcmax", "J", "TPU", "Rday"}) {
      const std::string s = symbol;
      auto value = number(s, row), se = number(s + "_se", row);
      std::string name = s;
      if (values == "25") {
        const auto moved = number(s + "25", row);
        se = moved_se(se, value, moved);
        value = moved;
        name += "25";
      }
      fit.parameters.push_back(compared_parameter(name, "umol m-2 s-1", text(s + "_status", row),
                                                  value, se, number(s + "_low", row),
                                                  number(s + "_high", row)));
    }
    if (labels.samples != nullptr) {
      auto found = labels_of(samples, fit.curve_id, *labels.samples);
      if (!found) return fail(found.error());
      one.labels = std::move(*found);
    } else {
      one.labels.leaf = fit.curve_id;
    }
    one.fitted = std::move(fit);
    out.curves.push_back(std::move(one));
  }
  return out;
}

}  // namespace leafwright::cli
