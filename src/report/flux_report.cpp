#include "report/flux_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/note_text.hpp"
#include "report/settings_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {

namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

void widen(std::optional<double>& low, std::optional<double>& high, double value) {
  if (std::isnan(value)) return;
  low = low ? std::min(*low, value) : value;
  high = high ? std::max(*high, value) : value;
}

/// A reason without its numbers: what stands before the colon.
std::string kind_of(const std::string& reason) {
  return reason.substr(0, reason.find(':'));
}

/// How many rows each kind of reason leaves out, the most first.
std::vector<std::pair<std::string, std::size_t>> left_out(const FluxRows& rows) {
  std::vector<std::size_t> by_reason(rows.reasons.size(), 0);
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (rows.use[row] == 0) ++by_reason[rows.why[row]];
  }
  std::map<std::string, std::size_t> counts;
  for (std::size_t i = 0; i < by_reason.size(); ++i) {
    if (by_reason[i] > 0) counts[kind_of(rows.reasons[i])] += by_reason[i];
  }
  std::vector<std::pair<std::string, std::size_t>> out(counts.begin(), counts.end());
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.second > b.second; });
  return out;
}

void write_sources(JsonWriter& json, const FluxRows& rows) {
  json.key("sources").open_array();
  for (const ValueSource& source : rows.sources) {
    json.open_object(on_a_line).field("quantity", source.quantity);
    json.field("from", value_from_name(source.from)).field("value", source.text);
    json.key("others").open_array(on_a_line);
    for (const std::string& other : source.others) json.value(other);
    json.close().field("disagree", source.disagree).key("curves").open_array(on_a_line);
    for (const std::string& curve : source.curves) json.value(curve);
    json.close().close();
  }
  json.close();
}

void write_head(JsonWriter& json, const FluxDocument& document) {
  write_made_from(json, "flux", document.inputs, document.settings);
  json.field("time", time_source_name(document.source.axis->source));
  json.field("cut", cut_by_name(document.source.cut->by));
  write_sources(json, *document.rows);
  const Equalisations* cells = document.source.equalisations;
  json.key("equalisations").open_array();
  for (std::size_t i = 0; cells != nullptr && i < cells->events.size(); ++i) {
    const Equalisation& event = cells->events[i];
    json.open_object(on_a_line).field("time_s", event.time_s).field("CO2", event.dCO2);
    json.field("H2O", event.dH2O).key("applied");
    if (cells->applied) {
      json.value(*cells->applied);
    } else {
      json.null();
    }
    json.field("source", event.source).close();
  }
  json.close();
}

void write_tail(JsonWriter& json, const FluxDocument& document) {
  json.key("curves").open_array();
  for (const FluxCurveSummary& curve : flux_curves(document.source, *document.rows)) {
    json.open_object(on_a_line).field("curve_id", curve.curve_id).field("rows", curve.rows);
    json.field("used", curve.used).field("flagged", curve.flagged);
    json.field("A_low", curve.A_low).field("A_high", curve.A_high);
    json.field("Ci_low", curve.Ci_low).field("Ci_high", curve.Ci_high).close();
  }
  json.close().key("left_out").open_array();
  for (const auto& [why, count] : left_out(*document.rows)) {
    json.open_object(on_a_line).field("why", why).field("rows", count).close();
  }
  json.close().key("noise_not_stated").open_array(on_a_line);
  for (const NoisyInput input : document.rows->noise_not_stated)
    json.value(noisy_input_name(input));
  json.close().key("problems").open_array();
  for (const std::string& problem : document.problems) json.value(problem);
  json.close();
  write_notes(json, document.notes);
}

std::string range_text(const std::optional<double>& low, const std::optional<double>& high,
                       int digits) {
  if (!low) return "-";
  return print_rounded(*low, digits) + " to " + print_rounded(*high, digits);
}

}  // namespace

std::vector<FluxCurveSummary> flux_curves(const FluxSource& source, const FluxRows& rows) {
  std::vector<FluxCurveSummary> out;
  for (const CutCurve& curve : source.cut->curves) {
    FluxCurveSummary summary;
    summary.curve_id = curve.curve_id;
    summary.rows = curve.rows.size();
    for (const std::size_t row : curve.rows) {
      if (rows.flags[row] != 0) ++summary.flagged;
      if (rows.use[row] == 0) {
        if (summary.first_why.empty()) summary.first_why = rows.reason(row);
        continue;
      }
      ++summary.used;
      widen(summary.A_low, summary.A_high, rows.A[row]);
      widen(summary.Ci_low, summary.Ci_high, rows.Ci[row]);
    }
    out.push_back(std::move(summary));
  }
  return out;
}

std::string flux_json(const FluxDocument& document) {
  JsonWriter json;
  json.open_object();
  write_head(json, document);
  write_tail(json, document);
  json.close();
  return json.finish();
}

std::string flux_meta_json(const FluxDocument& document) {
  JsonWriter json;
  json.open_object();
  write_head(json, document);
  json.key("columns").open_array();
  for (const FluxColumn& column : document.columns) {
    json.open_object(on_a_line).field("name", column.name).field("unit", column.unit);
    json.field("meaning", column.meaning).close();
  }
  json.close().key("kept_lines").open_array();
  for (const KeptLine& kept : document.source.log->table().kept_lines()) {
    json.open_object(on_a_line).field("line", kept.line).field("before_row", kept.before_row);
    json.field("text", kept.text).close();
  }
  json.close();
  write_tail(json, document);
  json.close();
  return json.finish();
}

std::string flux_text(const FluxDocument& document) {
  constexpr std::size_t most_curves = 60;
  const auto curves = flux_curves(document.source, *document.rows);
  std::size_t used = 0;
  for (const FluxCurveSummary& curve : curves) used += curve.used;
  std::string out =
      fmt::format("{} of {} used, {}, cut by {}\n\n", used, counted(document.rows->size(), "row"),
                  counted(curves.size(), "curve"), cut_by_name(document.source.cut->by));
  out += fmt::format("{:<24} {:>7} {:>7} {:>7}  {:<18} {}\n", "curve", "rows", "used", "flagged",
                     "A, umol m-2 s-1", "Ci, umol mol-1");
  for (std::size_t i = 0; i < curves.size() && i < most_curves; ++i) {
    const FluxCurveSummary& curve = curves[i];
    out +=
        fmt::format("{:<24} {:>7} {:>7} {:>7}  {:<18} {}\n", shortened(curve.curve_id, 24),
                    curve.rows, curve.used, curve.flagged, range_text(curve.A_low, curve.A_high, 4),
                    range_text(curve.Ci_low, curve.Ci_high, 5));
  }
  if (curves.size() > most_curves) {
    out += fmt::format("... {} more in the JSON\n", curves.size() - most_curves);
  }
  out += "\nValues\n";
  for (const ValueSource& source : document.rows->sources) {
    std::string line =
        fmt::format("  {} = {} ({})", source.quantity, source.text, value_from_name(source.from));
    if (source.disagree) line += "; NOT the same: " + join(source.others, ", ");
    if (curves.size() > 1 && source.curves.size() < curves.size()) {
      line += " for " + join(source.curves, ", ", 5);
    }
    out += line + "\n";
  }
  const auto out_rows = left_out(*document.rows);
  if (!out_rows.empty()) out += "\nLeft out\n";
  for (const auto& [why, count] : out_rows) {
    out += fmt::format("  {:>7}  {}\n", count, why.empty() ? "no reason stated" : why);
  }
  NoteGroups groups;
  groups.add("", document.notes);
  return out + groups.text();
}

}  // namespace leafwright
