#include "cli/fit_inputs.hpp"

#include <algorithm>
#include <map>

#include "base/text.hpp"
#include "cli/input.hpp"
#include "files/xlsx.hpp"
#include "report/sha256.hpp"

namespace leafwright::cli {
namespace {

Result<Points> read_points(const std::string& path, const LayoutChoice& layout,
                           const PointsOptions& options, FitInputs& inputs) {
  auto bytes = read_input(path);
  if (!bytes) return fail(bytes.error());
  inputs.files.push_back({input_name(path), bytes->size(), sha256(*bytes)});
  const auto table = open_table(std::move(*bytes), input_name(path), layout);
  if (!table) return fail(table.error());
  return cut_points(*table, options);
}

void take(Points points, const std::string& file, FitInputs& inputs, Console& console) {
  for (const Error& problem : points.problems) {
    console.complain(problem);
    inputs.problems.push_back(problem.text());
  }
  for (UnreadCurve& curve : points.failed) {
    console.complain("leafwright: curve '" + curve.curve_id + "': " + curve.why);
    inputs.unread_curves.push_back({file, std::move(curve.curve_id), std::move(curve.why)});
  }
  inputs.notes.insert(inputs.notes.end(), points.notes.begin(), points.notes.end());
  std::move(points.curves.begin(), points.curves.end(), std::back_inserter(inputs.curves));
}

void make_ids_unique(FitInputs& inputs) {
  std::map<std::string, std::size_t> seen;
  for (const Curve& curve : inputs.curves) ++seen[curve.curve_id];
  std::vector<std::string> renamed;
  for (Curve& curve : inputs.curves) {
    if (seen[curve.curve_id] < 2) continue;
    renamed.push_back(curve.curve_id);
    curve.curve_id = curve_file(curve) + ":" + curve.curve_id;
  }
  if (renamed.empty()) return;
  std::sort(renamed.begin(), renamed.end());
  renamed.erase(std::unique(renamed.begin(), renamed.end()), renamed.end());
  inputs.notes.push_back({NoteLevel::caution, "curve-id-in-two-files",
                          "the same curve id stands in more than one file (" +
                              join(renamed, ", ", 5) + "): these curves are named FILE:ID"});
}

}  // namespace

Result<FitInputs> read_inputs(const std::vector<std::string>& paths, const LayoutChoice& layout,
                              const PointsOptions& options, Console& console) {
  for (std::size_t i = 0; i < paths.size(); ++i) {
    if (std::find(paths.begin(), paths.begin() + static_cast<std::ptrdiff_t>(i), paths[i]) !=
        paths.begin() + static_cast<std::ptrdiff_t>(i)) {
      return fail(ErrorCode::usage, "'" + paths[i] + "' is given twice", "each file once");
    }
  }
  FitInputs inputs;
  std::vector<Error> errors;
  for (const std::string& path : paths) {
    auto points = read_points(path, layout, options, inputs);
    if (points) {
      take(std::move(*points), input_name(path), inputs, console);
      continue;
    }
    if (points.error().code == ErrorCode::usage && paths.size() == 1) return fail(points.error());
    if (paths.size() > 1) console.complain(points.error());
    inputs.unread.push_back({input_name(path), points.error().text()});
    errors.push_back(points.error());
  }
  if (errors.size() == paths.size()) return fail(errors.front());
  make_ids_unique(inputs);
  return inputs;
}

}  // namespace leafwright::cli
