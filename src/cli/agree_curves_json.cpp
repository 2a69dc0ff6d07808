// The JSON of `leafwright fit`, read back for a comparison.
#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "base/text.hpp"
#include "cli/agree_curves.hpp"
#include "fit/shrunken.hpp"
#include "table/layout.hpp"

namespace leafwright::cli {
namespace {

using nlohmann::json;

std::optional<double> number(const json& object, const char* key) {
  const auto found = object.find(key);
  if (found == object.end() || !found->is_number()) return {};
  return found->get<double>();
}

std::string text(const json& object, const char* key) {
  const auto found = object.find(key);
  return found != object.end() && found->is_string() ? found->get<std::string>() : "";
}

void add_parameters(const json& curve, const std::string& values, MethodCurve& into) {
  const auto estimates = curve.find("estimates");
  if (estimates == curve.end() || !estimates->is_object()) return;
  for (const auto& [symbol, e] : estimates->items()) {
    if (!e.is_object()) continue;
    auto value = number(e, "value"), se = number(e, "se");
    std::string name = symbol;
    if (values == "25") {
      name += "25";
      const auto at25 = curve.find("at25");
      std::optional<double> moved;
      if (at25 != curve.end() && at25->contains(name)) moved = number((*at25)[name], "value");
      se = moved_se(se, value, moved);
      value = moved;
    }
    into.parameters.push_back(compared_parameter(name, text(e, "unit"), text(e, "status"), value,
                                                 se, number(e, "low"), number(e, "high")));
  }
}

void add_rows(const json& curve, MethodCurve& into) {
  const auto rows = curve.find("rows");
  if (rows == curve.end() || !rows->is_array()) return;
  for (const json& row : *rows) {
    const auto Ci = number(row, "Ci"), A = number(row, "A"), at = number(row, "row");
    if (!Ci || !A) continue;
    into.points.push_back({*Ci, *A});
    into.rows.push_back(at && *at >= 0 ? static_cast<std::size_t>(*at) : into.rows.size());
  }
}

MethodCurve curve_of(const json& curve, const std::string& values) {
  MethodCurve out;
  out.curve_id = text(curve, "curve_id");
  out.Tleaf = number(curve, "Tleaf");
  out.noise_sd = number(curve, "rmse");
  add_parameters(curve, values, out);
  add_rows(curve, out);
  return out;
}

/// The labels of a curve from the samples table, else its id as the leaf.
Result<CurveLabels> labels_of(const std::string& curve_id, const LabelColumns& labels) {
  CurveLabels out;
  if (labels.samples == nullptr) {
    out.leaf = curve_id;
    return out;
  }
  const Table& table = *labels.samples;
  const auto id = table.find("curve_id");
  if (!id) return fail(id.error());
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (table.text(*id, row) != curve_id) continue;
    const auto read = [&](const std::string& name, std::string& into) -> Result<void> {
      if (name.empty()) return {};
      const auto column = table.find(name);
      if (!column) return fail(column.error());
      into = table.text(*column, row);
      return {};
    };
    for (const auto& [name, into] : {std::pair{&labels.leaf, &out.leaf},
                                     {&labels.plant, &out.plant},
                                     {&labels.method, &out.method}}) {
      if (auto ok = read(*name, *into); !ok) return fail(ok.error());
    }
    if (!labels.order.empty()) {
      const auto column = table.find(labels.order);
      if (!column) return fail(column.error());
      const auto order = table.number(*column, row);
      if (!order) return fail(order.error());
      out.order = *order;
    }
    return out;
  }
  return fail(ErrorCode::unreadable, "curve '" + curve_id + "' is not among the samples",
              "a row with this curve_id in '" + table.file() + "'");
}

}  // namespace

bool is_fit_json(std::string_view bytes) {
  return trim(bytes.substr(0, 64)).starts_with('{');
}

Result<ReadCurves> curves_of_fit_json(std::string_view bytes, const std::string& file,
                                      const std::string& values, const LabelColumns& labels) {
  const Place place{file, 0, 0, ""};
  const json document = json::parse(bytes, nullptr, false);
  if (document.is_discarded() || !document.is_object()) {
    return fail(ErrorCode::unreadable, "the text begins like JSON and is none",
                "what 'leafwright fit --json' wrote, whole", "was the file cut short?", place);
  }
  const std::string command = text(document, "command");
  if (command == "together" || command == "pool") {
    return fail(shrunken_error("this JSON is that of '" + command +
                                   "', whose values of leaves were drawn towards their group",
                               place));
  }
  if (command != "fit" || number(document, "schema") != 1.0) {
    return fail(ErrorCode::unreadable, "this JSON is not that of fits",
                "\"command\": \"fit\" and \"schema\": 1",
                "write it with 'leafwright fit POINTS --json FILE'", place);
  }
  ReadCurves out;
  const auto add = [&](MethodCurve fit) -> Result<void> {
    LabelledCurve one;
    one.file = file;
    auto found = labels_of(fit.curve_id, labels);
    if (!found) return fail(found.error());
    one.labels = std::move(*found);
    one.fitted = std::move(fit);
    out.curves.push_back(std::move(one));
    return {};
  };
  const json none = json::array();
  for (const json& curve : document.contains("curves") ? document["curves"] : none) {
    if (auto ok = add(curve_of(curve, values)); !ok) return fail(ok.error());
  }
  for (const json& failed : document.contains("failed") ? document["failed"] : none) {
    MethodCurve fit;
    fit.curve_id = text(failed, "curve_id");
    fit.failed = text(failed, "why");
    if (auto ok = add(std::move(fit)); !ok) return fail(ok.error());
  }
  return out;
}

}  // namespace leafwright::cli
