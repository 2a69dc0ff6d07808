// One file of an `agree` call -> curves with their labels (leaf, plant, method, order).
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "log/points.hpp"
#include "stats/agreement.hpp"
#include "study/agree_pairs.hpp"
#include "table/table.hpp"

namespace leafwright::cli {

/// A curve of points to be fitted, or one that was fitted before.
struct LabelledCurve {
  CurveLabels labels;
  std::string file;
  std::optional<Curve> points;
  std::optional<Curve> unmarked;  ///< with rows of use = 0 let in again, where there are any
  std::optional<MethodCurve> fitted;
};

/// Columns of labels: those of the table itself, else of a samples table by curve_id.
struct LabelColumns {
  std::string leaf, plant, method, order;  ///< "" where not wanted
  const Table* samples = nullptr;
};
LabelColumns label_columns(const Settings& agree, const Table* samples);

struct ReadCurves {
  std::vector<LabelledCurve> curves;
  std::vector<std::string> problems;
  std::vector<std::string> left_out;  ///< curves without points, with the reason
  Notes notes;
};

/// True for the JSON of `leafwright fit`; true for its CSV.
bool is_fit_json(std::string_view bytes);
bool is_fit_table(const Table& table);

/// Curves of a table of points. Errors: as cut_points; unreadable, for a column of labels that is
/// not there, or a curve with two labels.
Result<ReadCurves> curves_of_points(const Table& table, const PointsOptions& options,
                                    const LabelColumns& labels);

/// `values` is "leaf" or "25". Errors: unreadable, where the bytes are not what `fit` writes;
/// refused, where they are of leaves that were drawn towards their group.
Result<ReadCurves> curves_of_fit_json(std::string_view bytes, const std::string& file,
                                      const std::string& values, const LabelColumns& labels);
Result<ReadCurves> curves_of_fit_table(const Table& table, const std::string& values,
                                       const LabelColumns& labels);

}  // namespace leafwright::cli
